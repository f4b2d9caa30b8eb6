"""How much may come in at once: one table for maker, verifier, importer, hand-over and exchange.

The numbers are in tables/budgets.json.
"""

import hashlib
import json
from dataclasses import asdict, dataclass

from . import paths


@dataclass(frozen=True)
class Budgets:
    """The most of everything.  A value is a member of a JSON object or array, or the whole text."""

    entry_bytes: int  # of an entry's JSON text
    entry_fields: int
    entry_values: int
    entry_depth: int
    json_depth: int  # of any JSON text; the parser takes about a thousand
    entries_a_request: int  # and in an answer
    rejected_a_writer: int  # entries set aside of one writer in a job
    rejected_a_job: int  # of all writers together
    held_back_an_entry: int  # different contents that come under one identity
    held_back_a_job: int
    jobs_a_request: int
    writers_a_request: int  # in all vectors together
    request_bytes: int  # of a sync request as it comes over the wire
    request_unpacked_bytes: int
    request_values: int
    other_request_bytes: int
    answer_bytes: int  # of entries in an answer; one entry more may stand in it
    inflate_ratio: int  # unpacked bytes to packed ones; text reaches about 100
    photo_bytes: int
    photo_piece_bytes: int  # and of several photos in one request
    photos_a_request: int
    photos_a_job: int
    import_bytes: int  # a pack with all its photos
    zip_members: int  # of a pack or hand-over file: photos_a_job, and what else is in it
    zip_bytes: int
    job_file_bytes: int
    job_file_values: int
    phone_file_bytes: int
    manifest_bytes: int


BUDGETS = Budgets(**json.loads((paths.TABLES / "budgets.json").read_text(encoding="utf-8")))


def limits_of(budgets: Budgets) -> str:
    """Return what changes with any of the budgets; a phone that hears another one learns the limits anew."""
    return hashlib.sha256(json.dumps(asdict(budgets), sort_keys=True).encode()).hexdigest()[:8]


LIMITS = limits_of(BUDGETS)
