"""What an exchange file cannot take along, counted while writing and said in sentences."""

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Any

from ..messages import t
from ..survey.table_types.site import ExchangeHeader
from . import headers
from .model import Cell, Recorded
from .records import Book

JOB_FIELDS = (
    "title",
    "grid_reference",
    "level_datum",
    "recent_rain",
    "local_rules",
    "declination_deg",
    "grid_convergence_deg",
    "grid_central_meridian_deg",
    "longest_gap_m",
)
NODE_FIELDS = (
    "position",
    "position_note",
    "node_type",
    "cover_level_m",
    "cover_level_sd_m",
    "dipped_depth_sd_m",
)
RUN_FIELDS = (
    "counter_zero_m",
    "start_bearing",
    "end_reason",
    "water_carried",
    "protection_zone",
    "groundwater",
    "soil",
    "continues_run_id",
    "next_steps",
)
STRETCH_FIELDS = (
    "to_counter_m",
    "size_known",
    "roughness_mm",
    "remark",
    "next_steps",
)
KINDS = (
    "reading",
    "level_tie",
    "check",
)


class Losses:
    """Collects what is left behind."""

    def __init__(self) -> None:
        self._counts: Counter[str] = Counter()
        self._held: Counter[str] = Counter()
        self._no_letter: Counter[tuple[str, str]] = Counter()

    def count(self, what: str, number: int = 1) -> None:
        """Note that something is left behind: its key under `exchange.loss`."""
        if number:
            self._counts[what] += number

    def held_back(self, row: ExchangeHeader, value: Any) -> None:
        """Note a value that is not written because its letters are not certain enough."""
        if value not in (None, "", "unknown"):
            self._held[row["code"]] += 1

    def letter(self, code: str, row: ExchangeHeader, value: Any) -> Cell:
        """Return the letter of a value; one without a letter is left behind."""
        found = headers.letter(code, value)
        if not found and value != "unknown" and code != "ADB":
            self._no_letter[code, str(value)] += 1
        return found

    def look_at(self, book: Book) -> None:
        """Count what no row and no header has a place for."""
        for kind in KINDS:
            self.count(kind, len(book.of(kind)))
        _count_fields(self, "job", [book.job], JOB_FIELDS)
        _count_fields(self, "node", [r.fields for r in book.of("node")], NODE_FIELDS)
        _count_fields(self, "run", [r.fields for r in book.of("run")], RUN_FIELDS)
        _count_fields(self, "stretch", [r.fields for r in book.of("stretch")], STRETCH_FIELDS)
        ends = [r.fields for r in book.of("run") if not r.fields.get("end_reason")]
        _count_fields(self, "run", ends, ["end_counter_m"])
        resets = sum(1 for r in book.of("reading") if r.fields.get("counter_reset"))
        self.count("resets", resets)
        self.count(
            "conflicts",
            book.disputed,
        )
        over = sum(1 for r in book.of("observation") if r.fields.get("as_before"))
        self.count("as_before", over)
        turned = sum(1 for r in book.of("observation") if r.fields.get("turns_to"))
        self.count("turns", turned)
        same = sum(1 for r in book.of("observation") if r.fields.get("same_as"))
        self.count("same_as", same)
        photos = [p for p in book.of("photo") if p.fields.get("sha256")]
        self.count("pictures", len(photos))
        self.count("photos_of_no_run", sum(1 for p in photos if _stray(p, book)))
        strays = [r for r in book.of("remark") if r.fields.get("run_id") not in book.run_ids]
        self.count("remarks_of_job", len(strays))
        lost = [r for k in ("observation", "stretch") for r in book.of(k)]
        self.count("records_of_no_run", sum(r.fields.get("run_id") not in book.run_ids for r in lost))

    def sentences(self) -> Iterator[str]:
        """Return one sentence for each sort of thing."""
        for what, number in self._counts.items():
            yield t(f"exchange.loss.{what}", number=number)
        for code, number in self._held.items():
            yield t("exchange.held_back", title=headers.title(code), code=code, n=number)
        for (code, value), number in self._no_letter.items():
            title = headers.title(code)
            yield t("exchange.no_letter", title=title, code=code, value=repr(value), number=number)


def _stray(photo: Recorded, book: Book) -> bool:
    return photo.fields.get("run_id") not in book.run_ids and not photo.fields.get("belongs_to")


def _count_fields(losses: Losses, kind: str, owners: list[dict[str, Any]], names: Sequence[str]) -> None:
    for name in names:
        losses.count(f"{kind}_{name}", sum(1 for fields in owners if fields.get(name) not in (None, "")))
