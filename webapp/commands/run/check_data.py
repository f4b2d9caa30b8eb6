"""``fallbook check-data``."""

from dataclasses import asdict
from pathlib import Path

from ...lan import validity
from ...messages import listed, t
from ...upkeep.integrity import check
from ...web.state import state_of
from ..output import Progress, counted, now_and_then, refuse, say, show_json
from .opening import TO_READ, opened


def check_data(as_json: bool, quiet: bool, data: Path | None) -> None:
    """Check the database, every entry and every photo."""
    with opened(data, **TO_READ) as app, Progress(quiet) as tell:
        found = check(app.config["DATA_FOLDER"], state_of(app).photos.place, now_and_then(tell))
        found.notes += [one.sentence for one in validity.troubles(app.config["DATA_FOLDER"])]
    if as_json:
        show_json({"ok": not found.faults, **asdict(found)})
    elif not quiet:
        parts = ((found.jobs, "job"), (found.entries, "entry"), (found.photos, "photo"))
        say(listed(counted(*part) for part in parts))
        for line in found.notes:
            say(t("cli.note", text=line))
    refuse("data_damaged", found.faults, "cli.damaged", as_json)
    if not as_json and not quiet:
        say(t("cli.check_data.whole"))
