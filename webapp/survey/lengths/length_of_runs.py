"""The runs of one length put together: its records, what was seen of it, how far it was surveyed."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field, replace
from typing import Any, cast

from ..coding.continuous import ContinuousItem, continuous_items
from ..coding.run_end import closed_stretches, ended_run
from ..coding.visibility import SightFacts, Visibility, visibility
from ..errors import SurveyError
from ..flow.types import RunCapacity
from ..flow.whole_run import withheld_bottleneck
from ..instruments.counter import chainage_m
from ..instruments.counter_scale import check_far_length
from ..instruments.instruments import Instruments, instruments_of
from ..plan.run_extent import FarCheckFacts, RunExtent, run_extent
from ..records import CheckRecord, LevelTieRecord, ObservationRecord, ReadingRecord, RunFields, StretchRecord
from ..table_types.condition import VisibilityTable
from .pipe_length import LengthJoin, LengthPiece, from_other_end, length_join
from .records import LengthFrame, in_length, items_in_length, length_counter, observations_in_length
from .same_objects import counted_once, perhaps_same, shared_objects
from .sight import length_sight

PASSED_M = 0.5  # a run that went further than this beyond the end of another found it open
STOPPED = "ended_at_obstruction"
MIN_END = "least_end_counter_m"  # of one run, where its end is in dispute
AROUND = ("water_carried", "protection_zone", "groundwater", "soil", "next_steps")


@dataclass(frozen=True)
class PieceRun:
    """A run of a length: its id, its fields and its records in the order of their making.

    ``erased``: the places of those that were erased.
    """

    run_id: str
    fields: RunFields
    readings: Sequence[ReadingRecord]
    level_ties: Sequence[LevelTieRecord]
    stretches: Sequence[StretchRecord]
    observations: Sequence[ObservationRecord]
    erased: Sequence[StretchRecord] = ()


@dataclass(frozen=True)
class Piece:
    """What is known of a run before it is joined to the others; ``from_m`` is its own chainage [m].

    ``fields`` and ``stretches`` are the records with their ends, as ``ended_run`` and ``closed_stretches``.
    """

    run: PieceRun
    fields: RunFields
    instruments: Instruments
    extent: RunExtent
    stretches: Sequence[StretchRecord]
    items: Sequence[ContinuousItem]
    turned: bool
    from_m: float


@dataclass(frozen=True)
class WholeLength:
    """A length: how its runs join and, where that is known, what they are together.

    ``run``: fields as of one run; records and ``items`` lie along the length, by the counter of the first
    run [m], with what was marked as the same counted once. ``repeats``: which observation repeats which;
    ``perhaps``: pairs that may. ``frames`` place each piece.
    """

    pieces: Sequence[Piece]
    join: LengthJoin
    frames: Sequence[LengthFrame] = ()
    run: RunFields = field(default_factory=RunFields)
    extent: RunExtent | None = None
    readings: Sequence[ReadingRecord] = ()
    level_ties: Sequence[LevelTieRecord] = ()
    stretches: Sequence[StretchRecord] = ()
    observations: Sequence[ObservationRecord] = ()
    items: Sequence[ContinuousItem] = ()
    visibility: Visibility | None = None
    repeats: Mapping[str, str] = field(default_factory=dict)
    perhaps: Sequence[Sequence[str]] = ()


def length_of_runs(
    runs: Sequence[PieceRun], checks: Sequence[CheckRecord], table: VisibilityTable, counted: Sequence[str]
) -> WholeLength:
    """Return what the runs of one length are together.

    Parameters
    ----------
    runs : sequence of PieceRun, length n >= 1
        The first run first.

    Returns
    -------
    WholeLength
        Only ``pieces`` and ``join`` where it is not known how they join.

    Examples
    --------
    >>> table = {"view_lost_codes": [], "node_codes": [], "water_code": "BDD", "deposit_code": "BBC"}
    >>> run = PieceRun("a", {"end_counter_m": 9.0}, [], [], [], [])
    >>> length_of_runs([run], [], table, []).visibility["total_m"]
    9.0
    """
    pieces = _pieces(runs, checks, table)
    shared = shared_objects([one.run.observations for one in pieces], [_chainages(one) for one in pieces])
    join = length_join([_facts(one) for one in pieces], shared)
    if join.length_m is None:
        return WholeLength(pieces, join)
    frames = [_frame(pieces[0], one, join.length_m) for one in pieces]
    pairs = list(zip(pieces, frames, strict=True))
    seen = [
        observations_in_length(one.run.observations, one.items, one.extent["end_counter_m"], frame)
        for one, frame in pairs
    ]
    items = [
        item
        for one, frame in pairs
        for item in items_in_length(one.items, one.extent["end_counter_m"], frame)
    ]
    kept, together, repeats = counted_once([one for some in seen for one in some], items)
    both = any(one.turned for one in pieces)
    run = _run(pieces, join, both)
    return WholeLength(
        pieces, join, frames, run, _extent(pieces, join, both, run["end_counter_m"] or 0.0),
        [in_length("reading", r, frame) for one, frame in pairs for r in one.run.readings],
        [in_length("level_tie", r, frame) for one, frame in pairs for r in one.run.level_ties],
        [in_length("stretch", r, frame) for one, frame in pairs for r in one.stretches],
        kept, together,
        length_sight([_account(one, table) for one in pieces], frames, [_looked(one) for one in pieces]),
        repeats, perhaps_same(seen, counted, repeats),
    )  # fmt: skip


def _pieces(runs: Sequence[PieceRun], checks: Sequence[CheckRecord], table: VisibilityTable) -> list[Piece]:
    found: list[Piece] = []
    for run in runs:
        instruments = instruments_of(checks, run.run_id)
        fields = ended_run(run.fields, run.observations)
        extent = run_extent(fields, run.readings, run.observations, instruments)
        end_m = extent["end_counter_m"]
        turned = bool(found) and from_other_end(runs[0].fields, run.fields)
        piece = Piece(
            run, fields, instruments, extent, closed_stretches(run.stretches, end_m),
            continuous_items(run.observations, end_m)["items"], turned, 0.0,
        )  # fmt: skip
        before = [one.extent["surveyed_m"] or 0.0 for one in found if one.turned == turned]
        found.append(replace(piece, from_m=_looks_from(piece, before, table)) if before else piece)
    return found


def _looks_from(piece: Piece, before: Sequence[float], table: VisibilityTable) -> float:
    """A run that passed what an earlier one saw looked from its first record of the wall on."""
    blind = (*table["view_lost_codes"], *table["node_codes"], table["water_code"])
    places = _chainages(piece)
    looked = [
        places[one["id"]]
        for one in piece.run.observations
        if one["fields"].get("code") and one["fields"]["code"] not in blind and one["id"] in places
    ]
    return max(0.0, min([max(before), *looked]))


def _chainages(piece: Piece) -> dict[str, float]:
    zero_m = piece.fields.get("counter_zero_m") or 0.0
    return {
        one["id"]: chainage_m(counter_m, zero_m, piece.instruments.scale)
        for one in piece.run.observations
        if (counter_m := one["fields"].get("counter_m")) is not None
    }


def _facts(piece: Piece) -> LengthPiece:
    reached = piece.fields.get("end_reason") == "node_reached"
    expected_m = piece.fields.get("expected_length_m")
    return LengthPiece(piece.turned, piece.from_m, piece.extent["surveyed_m"], reached, expected_m)


def _frame(first: Piece, piece: Piece, length_m: float) -> LengthFrame:
    return LengthFrame(
        piece.fields.get("counter_zero_m") or 0.0, piece.instruments.scale, piece.turned, length_m,
        first.fields.get("counter_zero_m") or 0.0, first.instruments.scale,
        piece.instruments.zero_deg - first.instruments.zero_deg,
    )  # fmt: skip


def _run(pieces: Sequence[Piece], join: LengthJoin, both: bool) -> RunFields:
    """Fields of the length: those of the first run, what only others say, and its end."""
    first, farthest = pieces[0], _farthest(pieces)
    fields: dict[str, Any] = {name: value for name, value in first.fields.items() if name != MIN_END}
    for name in AROUND:
        stated = [value for one in pieces if (value := one.fields.get(name)) is not None]
        if stated:
            fields[name] = stated[0]
    far = next((one.fields.get("start_node_id") for one in pieces if one.turned), None)
    zero_m = first.fields.get("counter_zero_m") or 0.0
    fields |= {
        "finish_node_id": first.fields.get("finish_node_id") or far or farthest.fields.get("finish_node_id"),
        "expected_length_m": join.expected_m,
        "end_counter_m": zero_m + (join.length_m or 0.0) / first.instruments.scale,
        "end_reason": "node_reached" if both else farthest.fields.get("end_reason"),
    }
    return cast(RunFields, fields)


def _farthest(pieces: Sequence[Piece]) -> Piece:
    best = pieces[0]
    for one in pieces:
        if (one.extent["surveyed_m"] or 0.0) > (best.extent["surveyed_m"] or 0.0):
            best = one
    return best


def _extent(pieces: Sequence[Piece], join: LengthJoin, both: bool, end_counter_m: float) -> RunExtent:
    provenance = (
        "measured" if all(one.extent["surveyed_known"] == "measured" for one in pieces) else "assumed"
    )
    found: RunExtent = {
        "end_counter_m": end_counter_m, "surveyed_m": join.surveyed_m, "surveyed_known": provenance,
        "expected_m": join.expected_m, "remaining_m": None, "far_check": None,
    }  # fmt: skip
    length_m, expected_m = join.length_m or 0.0, join.expected_m
    reached = both or _farthest(pieces).fields.get("end_reason") == "node_reached"
    if expected_m is None or join.how in ("expected", "obstruction"):
        return found
    if reached:
        try:
            found["far_check"] = cast(FarCheckFacts, asdict(check_far_length(length_m, expected_m)))
        except SurveyError:
            found["far_check"] = None
    elif expected_m > length_m:
        found["remaining_m"] = expected_m - length_m
    return found


def _account(piece: Piece, table: VisibilityTable) -> Visibility:
    end_m, scale = piece.extent["end_counter_m"], piece.instruments.scale
    seen, erased = piece.run.observations, piece.run.erased
    return visibility(
        SightFacts(piece.fields, piece.stretches, seen, piece.items, end_m, scale, erased), table
    )


def _looked(piece: Piece) -> tuple[float, float]:
    """From where to where a piece looked, by its own counter [m]."""
    zero_m = piece.fields.get("counter_zero_m") or 0.0
    end_m = piece.extent["end_counter_m"]
    return zero_m + piece.from_m / piece.instruments.scale, zero_m if end_m is None else end_m


def stopped_counters(whole: WholeLength) -> list[float]:
    """Return where an obstruction stopped a run and no other run went beyond.

    Returns
    -------
    list of float
        By the counter of the first run [m]; none where it is not known how the runs join.

    Examples
    --------
    >>> table = {"view_lost_codes": [], "node_codes": [], "water_code": "BDD", "deposit_code": "BBC"}
    >>> run = PieceRun("a", {"end_counter_m": 9.0, "end_reason": "obstruction"}, [], [], [], [])
    >>> stopped_counters(length_of_runs([run], [], table, []))
    [9.0]
    """
    ends = [
        (length_counter(one.extent["end_counter_m"], frame), one)
        for one, frame in zip(whole.pieces, whole.frames, strict=False)
        if one.extent["end_counter_m"] is not None
    ]
    stopped = [pair for pair in ends if pair[1].fields.get("end_reason") == "obstruction"]
    left = [
        at_m
        for at_m, one in stopped
        if not any(_beyond(at_m, other) for other in ends if other[1] is not one)
    ]
    whole_way = any(one.fields.get("end_reason") == "node_reached" for one in whole.pieces)
    return left if left or whole_way else [at_m for at_m, _ in stopped]


def _beyond(at_m: float, other: tuple[float, Piece]) -> bool:
    """Whether another run ended beyond a place, in its own direction."""
    return (at_m - other[0] if other[1].turned else other[0] - at_m) > PASSED_M


def withheld_between(capacity: RunCapacity, join: LengthJoin, stopped: bool) -> RunCapacity:
    """Return the capacities of a length with no number for the whole where part of it is not known.

    Returns
    -------
    dict
        The same; ``whole`` None and ``limits`` with ``ended_at_obstruction`` where one lies in it; where part
        was not surveyed, which may carry less, no bottleneck has an index either.

    Examples
    --------
    >>> join = LengthJoin("expected", 9.0, 9.0, 1.0, None, 0.0, (), ((3.0, 4.0),), 1.0, 8.0, 0.0)
    >>> bottleneck = {"index": 0, "reasons": [], "rivals": [], "no_number": []}
    >>> withheld_between({"bottleneck": bottleneck, "limits": []}, join, False)["bottleneck"]["index"] is None
    True
    """
    bottleneck, limits = capacity["bottleneck"], list(capacity.get("limits") or [])
    found: RunCapacity = {**capacity}
    if stopped:
        found["limits"] = [*limits, *([] if STOPPED in limits else [STOPPED])]
        found["whole"] = None
    if bottleneck is not None and join.between:
        found["bottleneck"] = withheld_bottleneck(bottleneck["no_number"])
        found["whole"] = None
    return found
