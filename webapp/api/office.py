"""The pages of the office: jobs on this server, one job, its packs."""

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any, TypedDict

from flask import Blueprint, Response, current_app, render_template
from sqlalchemy import Connection

from ..access import guard
from ..access.permissions import FIELD
from ..config import KeepDays
from ..errors import AppError
from ..intake.jobs import photo_hashes
from ..messages import t
from ..records.entry import Entry, Rejection
from ..records.fold import entry_id, fold
from ..schemas import KINDS, describe
from ..store import entry_rows, held_back_rows, photo_rows, whole_jobs
from ..store.damage import one_job
from ..store.engine import reading
from ..store.rows import HeldBackRow, PhotoRow
from ..sync.sender import is_beyond_gap, is_foreign
from ..web.office_page import View
from .jobs import check_job_id, list_jobs
from .media import SHOWN

bp = Blueprint("office", __name__)


@bp.get("/office")
def home() -> Response:
    """Show the jobs."""
    access, keep = current_app.config["ACCESS"], current_app.config["KEEP_DAYS"]
    return page("office/jobs.html", jobs=list_jobs(), access=access, cleaned=_cleaned(keep))


def _cleaned(keep: KeepDays) -> str:
    """Return the sentence on what is cleared away by age."""
    after = {
        name: t("office.cleaned.after", n=days) if days else t("office.cleaned.never")
        for name, days in asdict(keep).items()
    }
    return t("office.cleaned", **after)


@bp.get("/office/jobs/<job_id>")
def job(job_id: str) -> Response:
    """Show one job."""
    check_job_id(job_id)
    with reading() as connection:
        entries, aside = whole_jobs.whole_job(connection, job_id, framed=True)
        if not entries:
            raise AppError("job_not_found")
        held_back = _held_back(connection, job_id)
        with one_job(connection):
            here = photo_rows.find_all(connection, photo_hashes(entries, aside))
    records = fold(e for e in entries if entry_id(e) not in aside)
    return page(
        "office/job.html",
        job_id=job_id,
        page=View(records).page(),
        access=current_app.config["ACCESS"],
        reader=guard.who().role not in FIELD,
        photos=[_photo(r.fields, here) for r in records if r.kind == "photo" and not r.removed],
        set_aside=[_aside(e, aside[entry_id(e)]) for e in entries if entry_id(e) in aside],
        held_back=held_back or [],
        held_back_damaged=held_back is None,
        entries=len(entries),
    )


class HeldBack(HeldBackRow):
    """An entry that was held back, and why: under a writer of another device, behind a gap."""

    foreign: bool
    beyond_gap: bool


class JobPhoto(TypedDict):
    """A photo as the page of a job shows it."""

    sha256: str | None
    caption: str
    counter_m: float | None
    width_px: int | None
    height_px: int | None
    here: bool
    shown: bool


class SetAside(TypedDict):
    """An entry that was set aside, and its reasons: what each is of, and the sentence."""

    id: str
    kind: str | None
    device: str | None
    recorded_at: str | None
    fields: dict[str, object] | None
    reasons: list[tuple[str, str]]


def _held_back(connection: Connection, job_id: str) -> list[HeldBack] | None:
    """Return what was held back of a job; None where that cannot be read."""
    try:
        with one_job(connection):
            return [
                {**row, "foreign": is_foreign(row["reasons"]), "beyond_gap": is_beyond_gap(row["reasons"])}
                for row in held_back_rows.held_back(connection, job_id)
                if not _came_since(connection, job_id, row)
            ]
    except AppError:
        return None


def _came_since(connection: Connection, job_id: str, row: HeldBackRow) -> bool:
    """Say whether a phone has sent an entry that was held back behind a gap."""
    number = row["number"]
    here = entry_rows.stored(connection, job_id, row["writer"], number, number)
    return is_beyond_gap(row["reasons"]) and here.get(number, ("",))[0] == row["sha256"]


def _photo(fields: Mapping[str, Any], here: Mapping[str, PhotoRow]) -> JobPhoto:
    row = here.get(str(fields.get("sha256")))
    return {
        "sha256": fields.get("sha256"),
        "caption": fields.get("caption") or t("office.photo_without_caption"),
        "counter_m": fields.get("counter_m"),
        "width_px": fields.get("width_px"),
        "height_px": fields.get("height_px"),
        "here": row is not None,
        "shown": row is not None and row["media_type"] in SHOWN,
    }


def _aside(entry: Entry, why: Rejection) -> SetAside:
    kind, found = str(entry.get("kind")), why.get("reasons", {})
    fields = {f["name"]: f["label"] for f in describe(KINDS[kind])["fields"]} if kind in KINDS else {}
    return {
        "id": entry_id(entry),
        "kind": KINDS[kind].LABEL if kind in KINDS else entry.get("kind"),
        "device": entry.get("device_id"),
        "recorded_at": entry.get("recorded_at"),
        "fields": entry.get("fields"),
        "reasons": [(fields.get(name, name), s) for name, sentences in found.items() for s in sentences],
    }


def page(template: str, status: int = 200, **values: Any) -> Response:
    """Return a page of the office, which every sender has looked up anew."""
    response = Response(render_template(template, **values), status, content_type="text/html; charset=utf-8")
    response.headers["Cache-Control"] = "no-cache"
    return response
