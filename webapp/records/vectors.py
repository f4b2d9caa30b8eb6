"""Version vectors: for each writer up to which number its entries are held, without a gap."""

import hashlib
import re
from collections.abc import Mapping
from typing import Any

from ..budgets import BUDGETS
from ..errors import AppError
from ..messages import t
from ..schemas.base import is_uuid
from ..schemas.entry import WRITER

DIGEST = re.compile(r"[0-9a-f]{32}")
STAMP = re.compile(r"[0-9a-f.-]{1,60}")
LISTS = ("others", "photos")
Vector = Mapping[str, int]


def digest(vector: Vector) -> str:
    """Return the first 32 hexadecimal digits of the SHA-256 of the lines ``writer:number``."""
    lines = sorted(f"{writer}:{number}".encode() for writer, number in vector.items())
    return hashlib.sha256(b"\n".join(lines)).hexdigest()[:32]


def check_jobs(jobs: Any) -> dict[str, dict[str, Any]]:
    """Return the ``jobs`` of a request if every one has a sound id and a vector, a digest or a stamp."""
    if not isinstance(jobs, dict):
        raise AppError("request_malformed", t("api.jobs_object"), "jobs")
    if len(jobs) > BUDGETS.jobs_a_request:
        raise AppError("too_many_jobs", t("api.max_jobs", most=f"{BUDGETS.jobs_a_request:,}"), "jobs")
    writers = 0
    for job_id, state in jobs.items():
        if not is_uuid(job_id):
            raise AppError("request_malformed", t("api.job_named"), "jobs")
        if not isinstance(state, dict) or set(state) not in ({"have"}, {"digest"}, {"since", "have"}):
            raise AppError("request_malformed", t("api.job_have_or_digest"), "jobs")
        if "have" in state and not _is_vector(state["have"]):
            raise AppError("request_malformed", t("api.have_object"), "jobs")
        if "digest" in state and not _is_digest(state["digest"]):
            raise AppError("request_malformed", t("api.digest"), "jobs")
        if "since" in state and not is_stamp(state["since"]):
            raise AppError("request_malformed", t("api.stamp"), "jobs")
        writers += len(state.get("have", ()))
    if writers > BUDGETS.writers_a_request:
        raise AppError("too_many_jobs", t("api.max_writers", most=f"{BUDGETS.writers_a_request:,}"), "jobs")
    return jobs


def check_lists(lists: Any) -> dict[str, str] | None:
    """Return the stamps of the lists that a sender has already; None for one that does not keep lists."""
    if lists is None:
        return None
    if not isinstance(lists, dict) or not all(name in LISTS and is_stamp(s) for name, s in lists.items()):
        raise AppError("request_malformed", t("api.stamp"), "lists")
    return lists


def is_stamp(value: Any) -> bool:
    """Say whether a value may be a stamp that a server gave."""
    return isinstance(value, str) and STAMP.fullmatch(value) is not None


def _is_vector(value: Any) -> bool:
    return isinstance(value, dict) and all(
        WRITER.fullmatch(writer) and type(number) is int and 0 <= number < 10**10
        for writer, number in value.items()
    )


def _is_digest(value: Any) -> bool:
    return isinstance(value, str) and DIGEST.fullmatch(value) is not None
