"""What several browser tests share."""

from figure_pages import fresh, sampled_server
from run_log import one_phone, surveyor, with_job
from sync_phones import kit, relay

__all__ = ["fresh", "kit", "one_phone", "relay", "sampled_server", "surveyor", "with_job"]
