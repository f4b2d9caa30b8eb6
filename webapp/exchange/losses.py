"""What an exchange file cannot take along, counted while writing and said in sentences."""

from collections import Counter
from collections.abc import Iterator
from typing import Any

from . import headers
from .model import Cell, Recorded
from .records import Book

JOB_FIELDS = {
    "title": "the job's title",
    "grid_reference": "the grid reference",
    "level_datum": "the level datum",
    "recent_rain": "the rain of the last days",
    "local_rules": "the law that governs the site",
}
NODE_FIELDS = {
    "position": "positions of nodes",
    "position_note": "notes on how to find a node",
    "node_type": "types of nodes",
    "cover_level_m": "cover levels",
}
RUN_FIELDS = {
    "counter_zero_m": "raw counter readings (distances are from the datum)",
    "start_bearing": "start bearings",
    "end_reason": "how a run ended, unless an observation says it",
    "water_carried": "the water that a run carries",
    "protection_zone": "water protection zones",
    "groundwater": "the groundwater",
    "soil": "the soil around a pipe",
    "continues_run_id": "that a run continues another (both distances are from their own start)",
    "next_steps": "what the surveyor says should be done on a run",
}
STRETCH_FIELDS = {
    "size_known": "how a size is known",
    "roughness_mm": "roughness",
    "remark": "remarks on a stretch",
    "next_steps": "what the surveyor says should be done on a stretch",
}
KINDS = {
    "reading": "inclination readings",
    "level_tie": "level ties",
    "check": "checks and safety answers",
}
FORMAT = "The exchange format has no place for"


class Losses:
    """Collects what is left behind."""

    def __init__(self) -> None:
        self._counts: Counter[str] = Counter()
        self._held: Counter[str] = Counter()
        self._no_letter: Counter[tuple[str, str]] = Counter()

    def count(self, what: str, number: int = 1) -> None:
        """Note that something is left behind."""
        if number:
            self._counts[what] += number

    def held_back(self, row: headers.Row, value: Any) -> None:
        """Note a value that is not written because its letters are not certain enough."""
        if value not in (None, "", "unknown"):
            self._held[row["code"]] += 1

    def letter(self, code: str, row: headers.Row, value: Any) -> Cell:
        """Return the letter of a value; one without a letter is left behind."""
        found = headers.letter(code, value)
        if not found and value != "unknown" and code != "ADB":
            self._no_letter[code, str(value)] += 1
        return found

    def look_at(self, book: Book) -> None:
        """Count what no row and no header has a place for."""
        for kind, name in KINDS.items():
            self.count(name, len(book.of(kind)))
        _count_fields(self, [book.job], JOB_FIELDS)
        _count_fields(self, [r.fields for r in book.of("node")], NODE_FIELDS)
        _count_fields(self, [r.fields for r in book.of("run")], RUN_FIELDS)
        _count_fields(self, [r.fields for r in book.of("stretch")], STRETCH_FIELDS)
        resets = sum(1 for r in book.of("reading") if r.fields.get("counter_reset"))
        self.count("resets of the counter (distances count on through them)", resets)
        self.count(
            "conflicts (the value shown is written, the others in the remark where there is one)",
            book.disputed,
        )
        over = sum(1 for r in book.of("observation") if r.fields.get("as_before"))
        self.count("that a quantity is as last time and was not looked at anew", over)
        turned = sum(1 for r in book.of("observation") if r.fields.get("turns_to"))
        self.count("which way the pipe turns at an angled joint", turned)
        same = sum(1 for r in book.of("observation") if r.fields.get("same_as"))
        self.count("that an observation repeats one of another run", same)
        photos = [p for p in book.of("photo") if p.fields.get("sha256")]
        self.count("the pictures themselves (only names of files are written)", len(photos))
        self.count("photos that belong to no run", sum(1 for p in photos if _stray(p, book)))
        strays = [r for r in book.of("remark") if r.fields.get("run_id") not in book.run_ids]
        self.count("remarks on the job", len(strays))
        lost = [r for k in ("observation", "stretch") for r in book.of(k)]
        self.count("records of no run", sum(r.fields.get("run_id") not in book.run_ids for r in lost))

    def sentences(self) -> Iterator[str]:
        """Return one sentence for each sort of thing."""
        for what, number in self._counts.items():
            yield f"{FORMAT} {what} ({number})."
        for code, number in self._held.items():
            yield (
                f"{headers.title(code)} ({code}) is left out of {number} inspection{'s' * (number != 1)}: "
                "its letters are from memory and nobody has checked them yet."
            )
        for (code, value), number in self._no_letter.items():
            yield f"{headers.title(code)} ({code}) has no letter for {value!r}; left empty {number} times."


def _stray(photo: Recorded, book: Book) -> bool:
    return photo.fields.get("run_id") not in book.run_ids and not photo.fields.get("belongs_to")


def _count_fields(losses: Losses, owners: list[dict[str, Any]], named: dict[str, str]) -> None:
    for name, words in named.items():
        losses.count(words, sum(1 for fields in owners if fields.get(name) not in (None, "")))
