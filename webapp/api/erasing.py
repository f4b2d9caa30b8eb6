"""The eraser, for the office only: what would go, the act, its undoing, the list of all."""

from collections.abc import Callable, Iterable, Mapping

from flask import Blueprint, Response, request
from sqlalchemy import Connection

from ..access import guard
from ..erasing import acts, clearing
from ..messages import messages, stamp_text, t
from ..office.erasable import Wrote, erasable
from ..office.kept import NotReady
from ..office.pages import Reader
from ..records.entry import Entry
from ..records.erasure import Act, is_erased
from ..records.fold import AnyRecord, entry_id, fold
from ..store import access_rows, whole_jobs
from ..store.engine import reading
from ..web.office_page import View
from ..web.state import state
from .bodies import answer_value
from .jobs import check_job_id
from .joining import body_object
from .office import page

bp = Blueprint("erasing", __name__)
MAX_NAMED = 20


@bp.post("/api/jobs/<job_id>/erasures/preview")
def preview(job_id: str) -> Response:
    """Say what an act would take; nothing is changed."""
    sent = body_object()
    found = in_names(check_job_id(job_id), sent.get("what"), sent.get("target", ""))
    return answer_value({"ok": True, **found})


def in_names(job_id: str, what: object, target: object) -> dict[str, object]:
    """Return what an act would take; its first records by names that a person can check."""
    choice = acts.preview(job_id, what, target)
    touched = {entry.get("record_id") for entry in choice.entries}
    records = _standing(*_whole(job_id))
    view = View(_by_id(records))
    named = [view.located(record) for record in records if record.id in touched]
    return {**choice.as_json(), "named": named[:MAX_NAMED]}


def _whole(job_id: str) -> tuple[list[Entry], Mapping[str, object]]:
    with reading() as connection:
        return whole_jobs.whole_job(connection, job_id, framed=True)


def _standing(entries: list[Entry], aside: Mapping[str, object]) -> list[AnyRecord]:
    return fold(entry for entry in entries if not is_erased(entry) and entry_id(entry) not in aside)


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
    """Show what of a job can be erased, of a large one the page that ``page`` names, and ask why."""
    check_job_id(job_id)
    number, target = request.args.get("page", 1, type=int), request.args.get("target", "")
    try:
        with state().office.look(job_id) as (connection, index):
            shown = _shown(Reader(connection, job_id, index), number, target)
    except NotReady as error:
        return page("office/preparing.html", 202, done=error.done, total=error.total)
    limits = {"days": acts.UNDO_DAYS, "most": acts.MAX_DAYS, "longest": acts.MAX_REASON}
    return page("office/erase.html", **shown, **limits, job_id=job_id, target=target)


def _shown(reader: Reader, number: int, target: str) -> dict[str, object]:
    view, found = View(reader.named), erasable(reader, number, target)
    return {
        "title": view.title(reader.record("job", reader.job_id)),
        "writers": _writers(reader.connection, found.writers),
        "records": [(one.id, view.located(one)) for one in found.records],
        "photos": _photos(view, found.records),
        "place": found,
    }


def _writers(connection: Connection, wrote: list[Wrote]) -> list[tuple[str, str]]:
    """Return each writer with the phone that it wrote on, how much it wrote, and when."""
    owners = access_rows.owners(connection, [one.writer for one in wrote])
    names = {row["id"]: row["name"] for row in access_rows.devices(connection)}
    return [(one.writer, _writer_line(names.get(owners.get(one.writer, "")), one)) for one in wrote]


def _writer_line(name: str | None, one: Wrote) -> str:
    first, last = (stamp_text(messages(), stamp) for stamp in (one.first, one.last))
    device = name or t("office.erase.unnamed_phone")
    return t("office.erase.writer", device=device, n=one.entries, first=first, last=last)


def _photos(view: View, records: Iterable[AnyRecord]) -> list[tuple[str, str]]:
    photos = [r for r in records if r.kind == "photo" and r.fields.get("sha256")]
    named = {str(r.fields["sha256"]): r for r in photos}
    return [(sha256, view.located(record)) for sha256, record in named.items()]


def _by_id(records: Iterable[AnyRecord]) -> Callable[[str], AnyRecord | None]:
    return {record.id: record for record in records}.get
