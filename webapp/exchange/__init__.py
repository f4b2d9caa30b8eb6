"""The electronic transfer format of EN 13508-2, Annex B, written and read.  Bytes and plain values only.

::

    inspections_of(records, places) -> Mapped       a job's runs, and what the format cannot take along
    compose(inspections, Layout) -> Written         an exchange file, and which characters were put otherwise
    looks_like(data) -> bool                        read(data) -> Report with the entries of a new job

Annex B itself was not seen. What is known of the format comes from published files and an open
implementation; ``tables/exchange_headers.json`` says row by row how certain that is.
"""

from .decode import MAX_BYTES, looks_like
from .export_records import inspections_of
from .import_records import read
from .model import Inspection, Layout, Mapped, Note, Report, Written
from .records import Places
from .writer import compose

__all__ = [
    "MAX_BYTES",
    "Inspection",
    "Layout",
    "Mapped",
    "Note",
    "Places",
    "Report",
    "Written",
    "compose",
    "inspections_of",
    "looks_like",
    "read",
]
