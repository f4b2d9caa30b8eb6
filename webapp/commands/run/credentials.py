"""``fallbook credential add``, ``list`` and ``end``: the credentials of scripts."""

from pathlib import Path

from ...access import credentials, granting
from ...messages import listed, t
from ..output import note, one_line, say, show_json
from .access import access_line, limits_of
from .choosing import one_of
from .jobs_here import job_id_of
from .opening import BESIDE, opened


def add(data: Path | None, name: str, role: str, job: str | None, days: float, no_expiry: bool) -> None:
    """Print a new credential for a script."""
    with opened(data, **BESIDE):
        job_id = job_id_of(data, job) if job else None
        token, row = credentials.add(role, name, job_id, None if no_expiry else days, granting.By())
    until = row["expires_at"]
    about = [row["name"], role, *([t("cli.one_job_only", job_id=row["job_id"])] if row["job_id"] else [])]
    about += [t("cli.until_utc", until=until[:16].replace("T", " ")) if until else t("cli.until_ended")]
    note(one_line(t("cli.credential", id=row["id"], about=listed(about))))
    note(t("cli.credential.once"))
    say(token)


def list_(data: Path | None, as_json: bool) -> None:
    """List the credentials of scripts."""
    with opened(data, **BESIDE):
        found = credentials.all_credentials()
    if as_json:
        show_json(found)
        return
    for row in found:
        seen = t("cli.seen", seen=(row["last_seen_at"] or t("cli.never"))[:16].replace("T", " "))
        say(access_line(row, seen, limits_of(row)))
    if not found:
        note(t("cli.credential.none"))


def end(data: Path | None, name_or_id: str) -> None:
    """End a credential of a script."""
    with opened(data, **BESIDE):
        standing = [row for row in credentials.all_credentials() if not row["revoked_at"]]
        named = one_of(standing, name_or_id, "device_unknown")
        granting.revoke(named["id"], granting.By())
    say(one_line(t("cli.credential.ended", name=named["name"])))
