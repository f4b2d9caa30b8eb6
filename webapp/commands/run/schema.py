"""``fallbook schema``."""

from ...schemas.wire import job_file_schema
from ..output import show_json


def schema() -> None:
    """Print the JSON Schema of the job file."""
    show_json(job_file_schema(), indent=2)
