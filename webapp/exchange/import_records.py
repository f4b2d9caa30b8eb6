"""What an exchange file says -> entries of a new job, and a note for everything that found no field."""

import hashlib

from .import_header import Header
from .import_rows import place_rows
from .job_builder import WRITER, JobBuilder
from .model import Report
from .parser import parse


def read(data: bytes) -> Report:
    """Return what becomes of an exchange file; AppError if it is none or its structure is unusable."""
    return _report(JobBuilder(hashlib.sha256(data).hexdigest(), parse(data)))


def _report(job: JobBuilder) -> Report:
    job.records[job.job_id] = ("job", job.job)
    headers_placed = []
    for number, inspection in enumerate(job.contents.inspections, start=1):
        header = Header(job, inspection, number)
        place_rows(job, inspection, header.place())
        headers_placed.append(header)
    for header in headers_placed:
        header.keep()
    job.job["title"] = job.title()
    counts = {kind: 0 for kind in ("run", "observation", "stretch", "node", "remark")}
    for kind, _ in job.records.values():
        counts[kind] = counts.get(kind, 0) + 1
    del counts["job"]
    entries = job.entries()
    notes = sorted(job.notes, key=lambda n: n.line)
    writer = WRITER + job.digest[:24]
    return Report(job.job_id, writer, job.job["title"], job.contents.layout, entries, counts, notes)
