"""The eraser, for the office only: what would go, the act, its undoing, the list of all."""

from flask import Blueprint, Response, request

from ..access import guard
from ..erasing import acts, clearing
from ..errors import AppError
from ..messages import t
from ..records.entry import Entry
from ..records.erasure import Act, is_erased
from ..records.fold import AnyRecord, entry_id, fold
from ..store import entry_rows
from ..store.engine import reading
from ..web.office_page import View
from ..web.state import state
from .bodies import answer_value
from .jobs import check_job_id
from .joining import body_object
from .office import page

bp = Blueprint("erasing", __name__)


@bp.post("/api/jobs/<job_id>/erasures/preview")
def preview(job_id: str) -> Response:
    """Say what an act would take; nothing is changed."""
    sent = body_object()
    return answer_value(
        {"ok": True, **acts.preview(check_job_id(job_id), sent.get("what"), sent.get("target", ""))}
    )


@bp.post("/api/jobs/<job_id>/erasures")
def erase(job_id: str) -> Response:
    """Erase an entry, a record, a photo, a writer or a whole job."""
    sent = body_object()
    return _done(acts.erase({**sent, "job_id": check_job_id(job_id)}, guard.by()), 201)


@bp.get("/api/erasures")
def erasures() -> Response:
    """List every act, newest first."""
    return answer_value({"ok": True, "erasures": acts.all_acts()})


@bp.post("/api/erasures/<erasure_id>/undo")
def undo(erasure_id: str) -> Response:
    """Put back what an act hid."""
    body_object()
    return _done(acts.undo(erasure_id, guard.by()))


@bp.post("/api/erasures/<erasure_id>/expunge")
def expunge(erasure_id: str) -> Response:
    """Leave nothing of what an act hid; it cannot be undone from then on."""
    body_object()
    return _done(acts.expunge(erasure_id, guard.by()))


def _done(act: Act, status: int = 200) -> Response:
    clearing.drop_packs(state().folder)
    cleared = clearing.clear(state().folder, state().photos.place)
    found = {"id": act.id, "state": act.state, "until": act.until, "entries": act.count(), "cleared": cleared}
    return answer_value({"ok": True, **found}, status)


@bp.get("/office/erasures")
def list_page() -> Response:
    """Show every act."""
    return page("office/erasures.html", erasures=acts.all_acts())


@bp.get("/office/jobs/<job_id>/erase")
def erase_page(job_id: str) -> Response:
    """Show what of a job can be erased, and ask why."""
    with reading() as connection:
        entries, aside = entry_rows.whole_job(connection, check_job_id(job_id), framed=True)
    if not entries:
        raise AppError("job_not_found")
    live = [entry for entry in entries if not is_erased(entry)]
    records = fold(entry for entry in live if entry_id(entry) not in aside)
    return page(
        "office/erase.html",
        job_id=job_id,
        title=View(records).page().title,
        writers=_writers(live),
        records=_records(records),
        photos=_photos(records),
        days=acts.UNDO_DAYS,
        most=acts.MAX_DAYS,
        longest=acts.MAX_REASON,
        target=request.args.get("target", ""),
    )


def _writers(entries: list[Entry]) -> list[tuple[str, str]]:
    """Return each writer with the phone that it wrote on and how much it wrote."""
    found: dict[str, list[Entry]] = {}
    for entry in entries:
        found.setdefault(entry["writer"], []).append(entry)
    return [
        (writer, t("office.erase.writer", device=str(own[0].get("device_id") or writer), n=len(own)))
        for writer, own in sorted(found.items())
    ]


def _records(records: list[AnyRecord]) -> list[tuple[str, str]]:
    view = View(records)
    return [(record.id, view.name(record)) for record in records if record.kind != "job"]


def _photos(records: list[AnyRecord]) -> list[tuple[str, str]]:
    named = {str(r.fields["sha256"]): r for r in records if r.kind == "photo" and r.fields.get("sha256")}
    return [(h, str(r.fields.get("caption") or t("office.photo_without_caption"))) for h, r in named.items()]
