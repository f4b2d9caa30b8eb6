"""The eraser: what the office took away, and the frame that stands for it.

Twin of static/js/records/erasure.js.  An *act* names entries by writer and number, and photos by hash.
While it is quarantined they are hidden and kept; once undone they are back; once expunged nothing of them is
left but the frame, which counts as held so that nobody sends them again.  An act names only what the server
held: what a phone has not sent is in none.
"""

import hashlib
import hmac
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, replace
from typing import Any, cast

from ..dates import day_text
from ..messages import messages, t
from ..schemas.base import is_uuid
from ..schemas.entry import is_writer
from . import canonical
from .entry import Entry, Rejection
from .fold import AnyRecord, Record

CODE = "erased"
QUARANTINED, UNDONE, EXPUNGED = STATES = ("quarantined", "undone", "expunged")
WHAT = ("entry", "record", "photo", "writer", "job")
_RANK = {state: rank for rank, state in enumerate(STATES)}
_NAMES = ("record_id", "kind")
_FRAME = {"job_id", "writer", "number", *_NAMES, "erased"}
_PLACED = {"act", "run_id", "from_counter_m", "to_counter_m"}
_TEXTS = {"reason": 500, "by": 120, "at": 40, "until": 10, "changed_at": 40}

Spans = dict[str, list[list[int]]]


@dataclass(frozen=True)
class Act:
    """One act of the office.

    ``spans``: writer to first and last numbers; ``places``: observation to run and counter, None from the
    start or to the end;
    ``until`` is the last day on which it can be undone; ``proof`` shows that this server made it.
    """

    id: str
    job_id: str
    what: str
    spans: Spans
    photos: list[str]
    places: dict[str, list[Any]]  # record: run, from and to on the counter (m), as recorded
    reason: str
    by: str
    at: str
    until: str
    state: str
    changed_at: str
    proof: str = ""

    @property
    def stands(self) -> bool:
        """Say whether it hides what it names."""
        return self.state != UNDONE

    def covers(self, writer: str, number: int) -> bool:
        """Say whether it names an entry."""
        return any(first <= number <= last for first, last in self.spans.get(writer, ()))

    def count(self) -> int:
        """Return how many entries it names."""
        return sum(last - first + 1 for spans in self.spans.values() for first, last in spans)

    def supersedes(self, other: "Act") -> bool:
        """Say whether it is a later state of the same act."""
        return _RANK[self.state] > _RANK[other.state]

    def as_json(self) -> dict[str, object]:
        """Return what phones are told, and bring back to a server that forgot."""
        return asdict(self)

    def proved(self, key: bytes) -> "Act":
        """Return it with the proof that this server made it."""
        return replace(self, proof=_proof(self, key))

    def is_proved(self, key: bytes) -> bool:
        """Say whether the server that has this key made it."""
        return hmac.compare_digest(self.proof, _proof(self, key))


def _proof(act: Act, key: bytes) -> str:
    """Return the HMAC (RFC 2104) with SHA-256 of all else."""
    bare = {name: value for name, value in act.as_json().items() if name != "proof"}
    return hmac.new(key, canonical.dumps(bare).encode(), hashlib.sha256).hexdigest()


def act_of(value: Any) -> Act | None:
    """Return the act that a value is; None if it is none."""
    names = set(Act.__dataclass_fields__)
    if not isinstance(value, dict) or set(value) != names:
        return None
    sound = (
        is_uuid(value["id"])
        and is_uuid(value["job_id"])
        and value["what"] in WHAT
        and value["state"] in STATES
        and all(isinstance(value[name], str) and len(value[name]) <= most for name, most in _TEXTS.items())
        and isinstance(value["proof"], str)
        and value["proof"].isascii()
        and isinstance(value["photos"], list)
        and isinstance(value["places"], dict)
        and isinstance(value["spans"], dict)
        and all(isinstance(w, str) and is_writer(w) and _are_spans(s) for w, s in value["spans"].items())
    )
    return Act(**value) if sound else None


def _are_spans(value: Any) -> bool:
    return isinstance(value, list) and all(
        isinstance(pair, list) and len(pair) == 2 and all(type(n) is int and 0 < n < 10**10 for n in pair)
        for pair in value
    )


def spans_of(identities: Iterable[tuple[str, int]]) -> Spans:
    """Return entries, given by writer and number, as spans."""
    found: Spans = {}
    for writer, number in sorted(identities):
        own = found.setdefault(writer, [])
        if own and own[-1][1] == number - 1:
            own[-1][1] = number
        else:
            own.append([number, number])
    return found


def frame_of(entry: Entry, act: Act) -> Entry:
    """Return what stands for an erased entry: whose and which number it was, about which record, and where.

    Nothing of what was entered is in it, nor the name of the phone.
    """
    frame: dict[str, object] = {name: entry[name] for name in ("job_id", "writer", "number")}
    for name in _NAMES:
        own: object = entry.get(name)
        if isinstance(own, str) and len(own) <= 36:
            frame[name] = own
    about: dict[str, object] = {"act": act.id}
    if place := act.places.get(str(entry.get("record_id") or "")):
        about |= {"run_id": place[0], "from_counter_m": place[1], "to_counter_m": place[2]}
    return cast(Entry, frame | {"erased": about})


def is_erased(entry: Mapping[str, object]) -> bool:
    """Say whether an entry is such a frame, and holds nothing more."""
    about = entry.get("erased")
    if not isinstance(about, dict) or not set(entry) <= _FRAME or not is_uuid(about.get("act")):
        return False
    if not all(isinstance(own := entry.get(name, ""), str) and len(own) <= 36 for name in _NAMES):
        return False
    if set(about) == {"act"}:
        return True
    counters = (about.get("from_counter_m"), about.get("to_counter_m"))
    return set(about) == _PLACED and is_uuid(about["run_id"]) and all(map(_is_counter, counters))


def erased_places(entries: Iterable[Entry]) -> list[AnyRecord]:
    """Return where observations were that are erased, each with the fields of a stretch of its run."""
    named: dict[tuple[str, str], AnyRecord] = {}
    for entry in filter(is_erased, entries):
        about = entry["erased"]
        if "run_id" in about and "record_id" in entry:
            fields: dict[str, object] = {
                "run_id": about["run_id"],
                "from_counter_m": about["from_counter_m"],
                "to_counter_m": about["to_counter_m"],
            }
            named[entry["record_id"], about["act"]] = Record(entry["record_id"], "erased", fields)
    return [record for _, record in sorted(named.items(), key=lambda pair: pair[0])]


def _is_counter(value: Any) -> bool:
    return value is None or (isinstance(value, int | float) and not isinstance(value, bool))


def stamp(states: Mapping[str, str]) -> str:
    """Return the first 32 hexadecimal digits of the SHA-256 of the lines ``act:state``; none for no acts."""
    lines = sorted(f"{act_id}:{state}".encode() for act_id, state in states.items())
    return hashlib.sha256(b"\n".join(lines)).hexdigest()[:32] if lines else ""


def reasons_of(act: Act | None) -> Rejection:
    """Return why an erased entry stands outside the records; None: by an act that is not known here."""
    sentence = t("erased.elsewhere")
    if act:
        sentence = t("erasure.entry", day=day_text(messages(), act.at), reason=act.reason)
    return {"code": CODE, "reasons": {"entry": [sentence]}}
