"""``fallbook erase``: the office's eraser, for those without a browser."""

from pathlib import Path
from typing import Any

from ...access.granting import By
from ...api.erasing import in_names
from ...erasing import acts, clearing
from ...errors import AppError
from ...messages import listed, t
from ...web.state import state_of
from ..output import note, one_line, say, show_json
from .choosing import Named, one_of
from .jobs_here import job_id_of
from .opening import BESIDE, opened

WAYS = ("entry", "record", "photo", "writer")


def erase(data: Path | None, job: str | None, as_json: bool, **wanted: Any) -> None:
    """Take something away, put it back, or list what was taken."""
    with opened(data, **BESIDE) as app:
        if wanted["list_all"]:
            _list(as_json)
        elif wanted["undo"] or wanted["expunge"]:
            _change(app, wanted["undo"], wanted["expunge"], as_json)
        else:
            _erase(app, data, job, wanted, as_json)


def _list(as_json: bool) -> None:
    found = acts.all_acts()
    if as_json:
        show_json(found)
        return
    for row in found:
        about = [t(f"office.erasures.state.{row['state']}"), t("cli.erase.entries", n=row["entries"])]
        about += [t("cli.until", day=row["until"])] if row["state"] == "quarantined" else []
        say(
            one_line(
                f"{row['id']}  {t('cli.about_job', job_id=row['job_id'])}  {row['reason']}  ({listed(about)})"
            )
        )
    if not found:
        note(t("office.erasures.none"))


def _change(app: Any, undo: str | None, expunge: str | None, as_json: bool) -> None:
    standing = [row for row in acts.all_acts() if row["state"] == "quarantined"]
    rows = [Named(id=str(row["id"]), name=str(row["reason"])) for row in standing]
    named = one_of(rows, str(undo or expunge), "erasure_unknown")
    act = acts.undo(named["id"], By()) if undo else acts.expunge(named["id"], By())
    _finish(app, act, as_json)


def _erase(app: Any, data: Path | None, job: str | None, wanted: dict[str, Any], as_json: bool) -> None:
    ways = [name for name in WAYS if wanted[name]] + (["job"] if wanted["whole_job"] else [])
    if job is None or len(ways) != 1:
        raise AppError("request_malformed", t("cli.erase.one_of"))
    what, job_id = ways[0], job_id_of(data, job)
    target = wanted.get(what) or ""
    if wanted["preview"]:
        _preview(in_names(job_id, what, target), as_json)
        return
    meant = {"job_id": job_id, "what": what, "target": target}
    act = acts.erase({**meant, "reason": wanted["reason"], "days": wanted["days"]}, By())
    _finish(app, act, as_json)


def _preview(found: Any, as_json: bool) -> None:
    if as_json:
        show_json(found)
        return
    photos = t("office.script.photos", n=len(found["photos"]))
    say(t("office.script.erase_goes", entries=t("office.script.entries", n=found["entries"]), photos=photos))
    for name in found["named"]:
        say(one_line(name))
    more = sum(found["records"].values()) - len(found["named"])
    if more > 0:
        say(t("office.script.erase_more", n=more))


def _finish(app: Any, act: Any, as_json: bool) -> None:
    state = state_of(app)
    clearing.drop_packs(state.folder)
    cleared = clearing.clear(state.folder, state.photos.place)
    if as_json:
        show_json({"id": act.id, "state": act.state, "until": act.until, "entries": act.count()})
        return
    say(one_line(t(f"cli.erase.{act.state}", id=act.id, n=act.count(), day=act.until)))
    if act.state == "expunged":
        note(t("cli.erase.reach") if cleared else t("cli.erase.not_cleared"))
