"""What an answer says beside the entries: other jobs on the server, and the photos that it wants.

A sender that keeps these lists sends their stamps.  It gets a list only where it is no longer the same, and
of the other jobs only those that changed.
"""

import hashlib
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection
from sqlalchemy.exc import DBAPIError

from ..errors import AppError
from ..store import change_rows, entry_rows
from ..store.damage import is_damage
from ..store.engine import reading, writing
from .sender import Sender
from .summaries import Summaries, Title
from .wants import Wants

_LISTS = (change_rows.JOBS, change_rows.PHOTOS)


@dataclass(frozen=True)
class Listing:
    """Who asks, which jobs it named, and the stamps of the lists that it keeps; None if it keeps none."""

    named: Collection[str]
    stamps: dict[str, str] | None
    sender: Sender
    photo_differences: bool = False  # whether of the photos only what changed is to be told
    photo_remarks: bool | None = None  # whether remarks on photos were heard before; None: it takes none


def begin(named: Iterable[str], summaries: Summaries, sender: Sender) -> None:
    """Give what a sender asks about a first stamp, where an earlier version stored it."""
    new = {*_LISTS, *filter(sender.may_see, named)} - summaries.stamped
    if not new:
        return
    try:
        with reading() as connection:
            without = [
                scope
                for scope in sorted(new)
                if change_rows.stamp(connection, scope) is None
                and (scope in _LISTS or entry_rows.holds_job(connection, scope))
            ]
            summaries.stamped |= {s for s in new if change_rows.stamp(connection, s) is not None}
        if without:
            with writing() as connection:
                change_rows.begin(connection, without)
    except (AppError, DBAPIError) as error:  # without a stamp the whole is told, as long as it can be read
        if not is_damage(error):
            raise


def lists_of(connection: Connection, listing: Listing, summaries: Summaries, wants: Wants) -> dict[str, Any]:
    """Return the parts of an answer that hold the lists."""
    if listing.stamps is None:
        titles = summaries.titles(connection, entry_rows.jobs_found(connection)[0])
        others = [t.as_json() for t in titles if _shown(t, listing) and t.job_id not in listing.named]
        return {"photos_wanted": wants.all(), "others": others}
    known = listing.stamps.get("photos", "")
    found, photos = wants.told(known, listing.photo_differences)
    if listing.photo_remarks is not None:
        is_whole = "photos_wanted" in found and "photos_since" not in found
        remarks = wants.remarks(known, whole=is_whole or not listing.photo_remarks)
        found |= {"photo_remarks": remarks} if remarks or not listing.photo_remarks else {}
    jobs, stamp = _others(connection, listing, summaries)
    given = {"photos": photos, "others": stamp}
    return found | jobs | {"lists": {name: one for name, one in given.items() if one}}


def _others(
    connection: Connection, listing: Listing, summaries: Summaries
) -> tuple[dict[str, Any], str | None]:
    """Return the list of all jobs that the sender may see, or what changed in it, and its stamp."""
    stamp, scope = change_rows.stamp(connection, change_rows.JOBS), _scope(listing.sender)
    known, _, of = listing.stamps.get("others", "").partition(".") if listing.stamps else ("", "", "")
    changed = change_rows.since(connection, change_rows.JOBS, known) if of == scope else None
    ids = entry_rows.jobs_found(connection)[0] if changed is None else changed
    titles = summaries.titles(connection, ids, some=changed is not None)
    # A job that cannot be read may be there again without any change: until then the whole is told.
    damaged = any(title.damaged for title in titles)
    given = None if damaged or stamp is None else f"{stamp}.{scope}" if scope else stamp
    if changed is None:
        return {"others": [t.as_json() for t in titles if _shown(t, listing)]}, given
    rows = [
        t.as_json() if _shown(t, listing) else {"job_id": t.job_id, "gone": True}
        for t in titles
        if listing.sender.may_see(t.job_id)
    ]
    return ({"others": rows, "others_since": known + (f".{scope}" if scope else "")} if rows else {}), given


def _scope(sender: Sender) -> str:
    """Return what tells senders apart that see different jobs."""
    if sender.jobs is None:
        return ""
    return hashlib.sha256("".join(sorted(sender.jobs)).encode()).hexdigest()[:8]


def _shown(title: Title, listing: Listing) -> bool:
    return not (title.removed or title.damaged) and listing.sender.may_see(title.job_id)
