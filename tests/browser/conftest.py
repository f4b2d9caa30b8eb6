"""What several browser tests share."""

from figure_pages import fresh, sampled_server
from run_log import surveyor, surveyor_alone, with_job
from sync_phones import kit, relay

__all__ = ["fresh", "kit", "relay", "sampled_server", "surveyor", "surveyor_alone", "with_job"]
