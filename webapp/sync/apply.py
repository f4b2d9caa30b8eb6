"""Take a batch of entries: each is kept, kept already, set aside with reasons, or not taken.

Of an entry beyond the budget its frame is stored (records/entry_budget.py).
"""

import hashlib
import json
from itertools import groupby
from operator import itemgetter
from typing import Any

from sqlalchemy import Connection

from ..budgets import BUDGETS
from ..errors import AppError
from ..messages import t
from ..records.entry import Aside, Entry, Rejection
from ..records.entry_budget import CODE as TOO_LARGE
from ..records.entry_budget import frame_of, is_frame
from ..records.erasure import CODE as ERASED
from ..records.erasure import is_erased
from ..records.fold import entry_id
from ..schemas import check_entry, envelope_faults
from ..schemas.entry import NUMBERS
from ..store import aside_rows, entry_rows, held_back_rows, kept_rows
from ..store.rows import EntryRow, HeldBackRow
from .beside import FULL, Beside
from .erasing import Erasures, frame_row, was_erased
from .stored import columns_of, framed, held_back_row, text_of, too_large

Outcome = list[Any]
Faults = dict[str, list[str]]  # by field
_JOB_AND_WRITER, _NUMBER = itemgetter("job_id", "writer"), itemgetter("number")


def check_identities(entries: list[Any]) -> None:
    """Refuse the whole batch if an entry has no sound identity."""
    before: Any = None
    for index, entry in enumerate(entries):
        if not _is_next(before, entry) and (faults := envelope_faults(entry)):
            raise AppError("entry_malformed", faults[0], field="entries", index=index)
        before = entry


def _is_next(before: Any, entry: Any) -> bool:
    """Say whether an entry follows one whose identity is sound, in the same job and by the same writer."""
    if type(before) is not dict or type(entry) is not dict:
        return False
    number: Any = entry.get("number")
    return (
        type(number) is int
        and before["number"] + 1 == number < NUMBERS
        and entry.get("job_id") == before.get("job_id")
        and entry.get("writer") == before.get("writer")
    )


class Taking:
    """One batch within one write transaction."""

    def __init__(self, connection: Connection, now: str, aside: Aside | None = None) -> None:
        """``aside``: entries that the sender already set aside, by entry, as job files list them."""
        self._connection, self._now, self._aside = connection, now, aside or {}
        self._heads: dict[tuple[str, str], int] = {}
        self._known: dict[tuple[str, str], dict[int, tuple[str, str | None]]] = {}
        self._photos: dict[str, set[str] | None] = {}  # None for a job that has room for the whole batch
        self._erasures = Erasures(connection, ())
        self._beside = Beside(connection)
        self._rejected: dict[tuple[str, str] | str, int] = {}  # of a writer in a job, and of a job
        self._capped = aside is None  # a file of the office's may bring more
        self._sent = 0
        self._new: list[EntryRow] = []
        self._held_back: list[HeldBackRow] = []
        self.new: list[Entry] = []  # what was not here before

    def take(self, entries: list[Entry]) -> list[Outcome]:
        """Store what is new and return the outcome of each entry, in order."""
        self._look_up(entries)
        self._erasures = Erasures(self._connection, {job_id for job_id, _ in self._heads})
        self._sent = len(entries)
        outcomes = [self.outcome_of(entry) for entry in entries]
        entry_rows.add(self._connection, self._new)
        held_back_rows.add_held_back(self._connection, self._held_back)
        return outcomes

    def others(self, entries: list[Entry]) -> list[str]:
        """Return which of some entries are here with another content; nothing is stored."""
        self._look_up(entries)
        return [entry_id(entry) for entry in entries if self._is_other(entry)]

    def _is_other(self, sent: Entry) -> bool:
        key, number = (sent["job_id"], sent["writer"]), sent["number"]
        if number > self._heads[key]:
            return False
        sha256, aside = self._known[key][number]
        if _sha256(text_of(sent)) == sha256 or was_erased(aside) or is_erased(sent):
            return False
        entry, body, _ = looked_at(sent)
        return _sha256(body) != sha256 and not (is_frame(entry) and self._stands_for(entry))

    def _look_up(self, entries: list[Entry]) -> None:
        numbers: dict[tuple[str, str], list[int]] = {}
        for key, run in groupby(entries, _JOB_AND_WRITER):
            numbers.setdefault(key, []).extend(map(_NUMBER, run))
        for key, sent in numbers.items():
            first, last = min(sent), max(sent)
            self._heads[key] = held = entry_rows.head(self._connection, *key)
            self._known[key] = (
                entry_rows.stored(self._connection, *key, first, min(last, held)) if first <= held else {}
            )

    def outcome_of(self, entry: Entry) -> Outcome:
        """Take one entry, and say what became of it."""
        key, number = (entry["job_id"], entry["writer"]), entry["number"]
        if number <= self._heads[key] and _sha256(text_of(entry)) == self._known[key][number][0]:
            return _as_before(entry, self._known[key][number][1])
        entry, body, faults = looked_at(entry)
        sha256 = _sha256(body)
        if number <= self._heads[key]:
            if was_erased(self._known[key][number][1]) or is_erased(entry):
                return self._again_erased(entry, body, sha256, self._known[key][number][1])
            return self._again(entry, body, sha256, *self._known[key][number])
        if number > self._heads[key] + 1:
            return [entry_id(entry), "not_taken", "number_gap"]
        row = self._new_row(entry, body, sha256, faults)
        aside = row["aside"]
        if aside is not None and self._capped and not was_erased(aside) and self._is_rejected_too_many(key):
            return [entry_id(entry), "not_taken", "too_many_rejected"]
        self._heads[key] = number
        self._known[key][number] = (row["sha256"], aside)
        self.new.append(entry)
        self._new.append(row)
        return [entry_id(entry), "kept"] if aside is None else _rejected(entry, json.loads(aside))

    def _again(self, entry: Entry, body: str, sha256: str, known: str, aside: str | None) -> Outcome:
        if sha256 == known or (is_frame(entry) and self._stands_for(entry)):
            return _as_before(entry, aside)
        taken = {"entry": [t("api.entry_identity_taken")]}
        row = held_back_row(entry, body, sha256, json.dumps(taken), self._now)
        if not self._beside.has_room(row):
            return [entry_id(entry), "not_taken", FULL]
        self._held_back.append(row)
        return _rejected(entry, {"code": "identity_taken", "reasons": taken})

    def _is_rejected_too_many(self, key: tuple[str, str]) -> bool:
        """Say whether a writer or a job has as many entries set aside as it may; else one more is counted."""
        own, whole, job_id = BUDGETS.rejected_a_writer, BUDGETS.rejected_a_job, key[0]
        if key not in self._rejected:
            self._rejected[key] = aside_rows.count_rejected(self._connection, *key, own)
        if job_id not in self._rejected:
            self._rejected[job_id] = aside_rows.count_rejected_of_job(self._connection, job_id, whole)
        if self._rejected[key] >= own or self._rejected[job_id] >= whole:
            return True
        self._rejected[key] += 1
        self._rejected[job_id] += 1
        return False

    def _stands_for(self, frame: Entry) -> bool:
        """Say whether an entry is stored whole of which a frame came: an earlier version took it."""
        body = entry_rows.body_of(self._connection, frame["job_id"], frame["writer"], frame["number"])
        return body is not None and frame_of(json.loads(body)) == frame

    def _reasons(self, entry: Entry, faults: Faults | None) -> str | None:
        """Return why an entry is set aside, if it is; ``faults`` None: not looked for yet."""
        if self._aside and (listed := self._aside.get(entry_id(entry))) and listed["code"] != ERASED:
            return json.dumps(listed)
        if is_frame(entry):
            return json.dumps({"code": TOO_LARGE, "reasons": {"entry": [too_large()]}})
        if faults := check_entry(entry) if faults is None else faults:
            return json.dumps({"code": "entry_refused", "reasons": faults})
        if entry["kind"] == "photo" and self._is_photo_too_many(entry):
            most = t("api.photos_a_job", most=f"{BUDGETS.photos_a_job:,}")
            return json.dumps({"code": "too_many_photos", "reasons": {"entry": [most]}})
        return None

    def _is_photo_too_many(self, entry: Entry) -> bool:
        """Say whether an entry would be the first of a photo for which its job has no room."""
        job_id, record_id = entry["job_id"], entry["record_id"]
        if job_id not in self._photos:
            near = entry_rows.count(self._connection, job_id, "photo") + self._sent > BUDGETS.photos_a_job
            self._photos[job_id] = kept_rows.record_ids(self._connection, job_id, "photo") if near else None
        known = self._photos[job_id]
        if known is None or record_id in known:
            return False
        if len(known) >= BUDGETS.photos_a_job:
            return True
        known.add(record_id)
        return False

    def _new_row(self, entry: Entry, body: str, sha256: str, faults: Faults | None) -> EntryRow:
        """Return the row of a new entry; of one that was erased that of its frame."""
        act = self._erasures.standing(entry)
        if is_erased(entry):
            return frame_row(entry, act, self._now, self._aside.get(entry_id(entry)))
        row = columns_of(entry, body, sha256, self._reasons(entry, faults), self._now)
        if act is None:
            return row
        self._erasures.hide(act, row)
        return frame_row(entry, act, self._now)

    def _again_erased(self, entry: Entry, body: str, sha256: str, aside: str | None) -> Outcome:
        """Of an entry that was erased, here or on the phone, nothing is taken unless its act was undone."""
        if aside is None or not was_erased(aside):
            return _as_before(entry, aside)
        if is_erased(entry) or not self._erasures.came_back(entry):
            return _rejected(entry, json.loads(aside))
        reasons = self._reasons(entry, None)
        self._erasures.fill(columns_of(entry, body, sha256, reasons, self._now))
        key, number = (entry["job_id"], entry["writer"]), entry["number"]
        self._known[key][number] = (sha256, reasons)
        return [entry_id(entry), "kept"] if reasons is None else _rejected(entry, json.loads(reasons))


def looked_at(entry: Entry) -> tuple[Entry, str, Faults | None]:
    """Return an entry as ``as_stored`` does, and its faults where it was short enough to look at once.

    A short one without a fault is within the budget: its fields are those of its kind and lie no deeper, its
    numbers are within their ranges, and there are fewer values than characters.
    """
    text = text_of(entry)
    faults = None
    if len(text) < min(BUDGETS.entry_bytes // 4, BUDGETS.entry_values):
        faults = check_entry(entry)
        if not faults:
            return entry, text, faults
    stored, text = framed(entry, text)
    return stored, text, faults if stored is entry else None


def _sha256(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()


def _as_before(entry: Entry, aside: str | None) -> Outcome:
    return [entry_id(entry), "kept_already"] if aside is None else _rejected(entry, json.loads(aside))


def _rejected(entry: Entry, why: Rejection) -> Outcome:
    return [entry_id(entry), "set_aside", why["code"], why.get("reasons", {})]
