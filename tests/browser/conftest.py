"""What several browser tests share."""

from figure_pages import fresh  # noqa: F401
