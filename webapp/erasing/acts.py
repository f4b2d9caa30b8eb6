"""An act of the eraser: made, undone, expunged, each in one transaction with a line of the audit log."""

import re
from dataclasses import replace
from datetime import date, timedelta

from sqlalchemy import Connection

from .. import timesource
from ..access.granting import By, note
from ..errors import AppError
from ..messages import t
from ..records.erasure import EXPUNGED, QUARANTINED, UNDONE, Act
from ..store import erasure_rows
from ..store.engine import reading, writing
from ..sync.erasing import apply
from ..sync.exchange import now_text
from .choosing import Choice, choose

UNDO_DAYS = 30
MAX_DAYS = 3650
MIN_REASON, MAX_REASON = 3, 500


def preview(job_id: str, what: object, target: object) -> Choice:
    """Return what an act would take."""
    with reading() as connection:
        return choose(connection, job_id, what, target)


def erase(wanted: dict[str, object], by: By) -> Act:
    """Hide what is meant from everybody until it can no longer be undone; with 0 days it is expunged at once.

    ``wanted``: job_id, what, target, reason, days.
    """
    reason, days = _reason(wanted.get("reason")), _days(wanted.get("days", UNDO_DAYS))
    with writing() as connection:
        choice = choose(connection, str(wanted["job_id"]), wanted.get("what"), wanted.get("target", ""))
        act = _new(choice, reason, days, by).proved(erasure_rows.key(connection))
        apply(connection, act)
        _note(connection, act, by, "erased")
        if days == 0:
            act = _change(connection, act, EXPUNGED)
            _note(connection, act, by, "expunged")
    return act


def _new(choice: Choice, reason: str, days: int, by: By) -> Act:
    now = now_text()
    return Act(
        id=timesource.new_id(),
        job_id=choice.job_id,
        what=choice.what,
        spans=choice.spans,
        photos=choice.photos,
        places=choice.places,
        reason=reason,
        by=by.who[:120],
        at=now,
        until=str(_today() + timedelta(days=days)),
        state=QUARANTINED,
        changed_at=now,
    )


def _today() -> date:
    return timesource.now_utc().date()


def _reason(value: object) -> str:
    text = re.sub(r"\s+", " ", value).strip() if isinstance(value, str) else ""
    if not MIN_REASON <= len(text) <= MAX_REASON:
        raise AppError("request_malformed", t("api.erasure_reason", most=MAX_REASON), "reason")
    return text


def _days(value: object) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value <= MAX_DAYS:
        raise AppError("request_malformed", t("api.erasure_days", most=f"{MAX_DAYS:,}"), "days")
    return value


def undo(act_id: str, by: By) -> Act:
    """Put back what an act hid, to the byte; AppError ``erasure_over`` where it can no longer be undone."""
    with writing() as connection:
        act = _standing(connection, act_id)
        if _today() > date.fromisoformat(act.until):
            raise AppError("erasure_over")
        act = _change(connection, act, UNDONE)
        _note(connection, act, by, "erasure_undone")
    return act


def expunge(act_id: str, by: By) -> Act:
    """Leave nothing of what an act hid but that it was there; what is to be cleared is noted with it."""
    with writing() as connection:
        act = _change(connection, _standing(connection, act_id), EXPUNGED)
        _note(connection, act, by, "expunged")
    return act


def expunge_due(by: By) -> int:
    """Expunge every act whose last day is over, and return how many there were."""
    today = str(_today())
    with reading() as connection:
        due = [a.id for a in erasure_rows.acts(connection) if a.state == QUARANTINED and a.until < today]
    for act_id in due:
        expunge(act_id, by)
    return len(due)


def all_acts() -> list[dict[str, object]]:
    """Return every act for the list, newest first: what it took, and what came since."""
    with reading() as connection:
        acts = erasure_rows.acts(connection)
        erased = [act.job_id for act in acts if act.what == "job" and act.stands]
        later = erasure_rows.live_counts(connection, erased)
    return [_listed(act, later.get(act.job_id, 0) if act.what == "job" else 0) for act in reversed(acts)]


def _listed(act: Act, later: int) -> dict[str, object]:
    names = ("id", "job_id", "what", "reason", "by", "at", "until", "state", "changed_at")
    row = {name: getattr(act, name) for name in names}
    may = act.state == QUARANTINED and str(_today()) <= act.until
    return row | {"entries": act.count(), "photos": len(act.photos), "undo": may, "later": later}


def _standing(connection: Connection, act_id: str) -> Act:
    act = erasure_rows.find(connection, act_id)
    if act is None:
        raise AppError("erasure_unknown")
    if act.state != QUARANTINED:
        raise AppError("erasure_over")
    return act


def _change(connection: Connection, act: Act, state: str) -> Act:
    changed = replace(act, state=state, changed_at=now_text()).proved(erasure_rows.key(connection))
    apply(connection, changed)
    return changed


def _note(connection: Connection, act: Act, by: By, action: str) -> None:
    detail: dict[str, object] = {"erasure": act.id, "what": act.what, "entries": act.count()}
    detail |= {"photos": len(act.photos), "reason": act.reason, "until": act.until}
    note(connection, by, action, act.job_id, detail)
