"""``fallbook clean``."""

from pathlib import Path

from ...errors import AppError
from ...messages import listed, t
from ...upkeep import cleaning
from ...web.state import state_of
from ..output import counted, say, show_json
from .opening import BESIDE, opened


def clean(preview: bool, as_json: bool, quiet: bool, data: Path | None) -> None:
    """Clear away what is older than it is to be kept."""
    with opened(data, **BESIDE) as app:
        state = state_of(app)
        ground = cleaning.Ground(state.folder, state.photos, app.config["KEEP_DAYS"])
        old = cleaning.look(ground) if preview else cleaning.clean(ground)
    if old is None:
        raise AppError("busy")
    if as_json:
        about = {"waiting": old.waiting, "counted_to": old.counted_to, "more": old.more}
        show_json({"preview": preview, **old.counts(), **about})
    elif not quiet:
        _tell(old, preview)


def _tell(old: cleaning.Old, preview: bool) -> None:
    words = {"uploads": "upload", "invitations": "invitation", "packs": "pack", "audit": "audit_line"}
    gone = [counted(count, words[name]) for name, count in old.counts().items() if count]
    if gone:
        say(t("cli.clean.would_go" if preview else "cli.clean.gone", what=listed(gone)))
    else:
        say(t("cli.clean.nothing"))
    if old.waiting:
        say(t("cli.clean.waiting", n=old.waiting))
    if old.more:
        say(t("cli.clean.more"))
    say(t("cli.clean.counted_to", day=old.counted_to))
