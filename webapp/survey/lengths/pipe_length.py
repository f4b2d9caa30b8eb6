"""One length of pipe surveyed in pieces: which runs belong together, and how their chainages join."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TypedDict

from ..records import RunFields, RunRecord

Span = tuple[float, float]
SAME_M = 1e-6  # two places nearer than this are one


@dataclass(frozen=True)
class LengthPiece:
    """A run as part of a length; chainages [m] are its own, from its own start node.

    ``turned``: surveyed from the other end. It saw what lies from ``from_m`` to ``to_m`` (None: not known).
    ``reached``: it ended at the node at its far end.
    """

    turned: bool
    from_m: float
    to_m: float | None
    reached: bool
    expected_m: float | None


@dataclass(frozen=True)
class SharedObject:
    """The same thing seen in two pieces: their indexes, and its chainage in each [m].

    ``blocks``: it stopped both, so that each saw its own face of it only.
    """

    piece: int
    other: int
    at_m: float
    other_at_m: float
    blocks: bool


class JoinFacts(TypedDict):
    """The same as ``LengthJoin``, as far as it is put into words [m]."""

    how: str
    length_m: float | None
    closing_m: float | None
    off_m: float | None
    apart_m: float
    between: Sequence[Sequence[float]]
    twice_m: float


@dataclass(frozen=True)
class LengthJoin:
    """How the pieces of a length lie to each other. All [m], from the start of the first run.

    ``how``: ``seen_from_both`` (the same object marked in two runs), ``counter`` (a run went all the way),
    ``expected`` (the length expected), ``obstruction`` (what stopped both: its own length is not in it),
    ``same_start`` (all go from the same end), ``unknown``. ``length_m``: from end to end; of ``same_start``
    how far it was surveyed; None where unknown. ``closing_m``: the length expected less what was surveyed
    from either end, None without both. ``off_m``: the length expected less ``length_m``, where the join does
    not rest on it. ``apart_m``: by how much what the join rests on differs among itself. ``spans``: what
    was surveyed; ``between``: what lies between and was not; ``twice_m``: how much was surveyed twice.
    """

    how: str
    length_m: float | None
    expected_m: float | None
    closing_m: float | None
    off_m: float | None
    apart_m: float
    spans: tuple[Span, ...]
    between: tuple[Span, ...]
    between_m: float | None
    surveyed_m: float | None
    twice_m: float


def length_groups(runs: Sequence[RunRecord]) -> list[list[str]]:
    """Return which runs are pieces of one length.

    Parameters
    ----------
    runs : sequence of mapping
        Run records that stand, each with ``id`` and ``fields``, in the order of their making; a later piece
        names an earlier one in ``continues_run_id``.

    Examples
    --------
    >>> length_groups([{"id": "a", "fields": {}}, {"id": "b", "fields": {"continues_run_id": "a"}}])
    [['a', 'b']]
    """
    named = {one["id"]: one["fields"].get("continues_run_id") for one in runs}
    groups: dict[str, list[str]] = {}
    for one in runs:
        groups.setdefault(_first(one["id"], named), []).append(one["id"])
    return [
        [first, *(one for one in mine if one != first)] for first, mine in groups.items() if len(mine) > 1
    ]


def _first(run_id: str, named: Mapping[str, str | None]) -> str:
    """The run that the names lead to; of a circle, the run itself."""
    seen, at = [run_id], run_id
    while (before := named.get(at)) is not None and before in named:
        if before in seen:
            return run_id
        seen.append(before)
        at = before
    return at


def from_other_end(first: RunFields, fields: RunFields) -> bool:
    """Return whether a run comes from the other end of the length.

    >>> from_other_end({"start_node_id": "a"}, {"start_node_id": "a"})
    False
    """
    start = fields.get("start_node_id")
    return not start or start != first.get("start_node_id")


def length_join(pieces: Sequence[LengthPiece], shared: Sequence[SharedObject]) -> LengthJoin:
    """Return how the pieces of a length join, and what lies between them.

    Parameters
    ----------
    pieces : sequence of LengthPiece, length n >= 1
        The first run first.

    Examples
    --------
    >>> pieces = [LengthPiece(False, 0.0, 28.4, False, 45.0), LengthPiece(True, 0.0, 10.0, False, None)]
    >>> [round(one, 3) for one in length_join(pieces, []).between[0]]
    [28.4, 35.0]
    """
    expected_m = next((one.expected_m for one in pieces if one.expected_m is not None), None)
    here = max((one.to_m for one in pieces if not one.turned and one.to_m is not None), default=None)
    there = max((one.to_m for one in pieces if one.turned and one.to_m is not None), default=None)
    how, length_m, apart_m = _rests_on(pieces, shared, expected_m, here, there)
    both = here is not None and there is not None
    closing_m = expected_m - here - there if expected_m is not None and both else None  # type: ignore[operator]
    off_m = None
    if expected_m is not None and length_m is not None and how in ("seen_from_both", "counter"):
        off_m = _zeroed(expected_m - length_m)
    if length_m is None or length_m <= SAME_M:
        unknown = _zeroed(closing_m)
        return LengthJoin("unknown", None, expected_m, unknown, None, 0.0, (), (), None, None, 0.0)
    lengths = [_span(one, length_m) for one in pieces if one.to_m is not None]
    spans = _union(lengths)
    between = _between(spans, length_m)
    surveyed_m = sum((to - start for start, to in spans), 0.0)
    twice_m = sum((to - start for start, to in lengths), 0.0) - surveyed_m
    return LengthJoin(
        how, length_m, expected_m, _zeroed(closing_m), off_m, apart_m, tuple(spans), tuple(between),
        sum((to - start for start, to in between), 0.0), surveyed_m, twice_m if twice_m > SAME_M else 0.0,
    )  # fmt: skip


def _rests_on(
    pieces: Sequence[LengthPiece], shared: Sequence[SharedObject], expected_m: float | None,
    here: float | None, there: float | None,
) -> tuple[str, float | None, float]:  # fmt: skip
    """What the join rests on, the length from end to end, how far the sums of several objects differ."""
    if not any(one.turned for one in pieces):
        return "same_start", here, 0.0
    facing = [one for one in shared if pieces[one.piece].turned != pieces[one.other].turned]
    sums = [one.at_m + one.other_at_m for one in facing if not one.blocks]
    if sums:
        return "seen_from_both", sum(sums) / len(sums), max(sums) - min(sums)
    crossed = [one.to_m for one in pieces if one.reached and one.to_m is not None]
    if crossed:
        return "counter", max(crossed), max(crossed) - min(crossed)
    if expected_m is not None:
        return "expected", expected_m, 0.0
    faces = [one.at_m + one.other_at_m for one in facing]
    if faces:
        return "obstruction", max(faces), max(faces) - min(faces)
    return "unknown", None, 0.0


def _zeroed(value_m: float | None) -> float | None:
    """Return the value, or 0 where what is left comes of rounding alone."""
    return 0.0 if value_m is not None and abs(value_m) < SAME_M else value_m


def _span(piece: LengthPiece, length_m: float) -> Span:
    """Where a piece lies in the length, cut at its ends."""
    to_m = piece.from_m if piece.to_m is None else piece.to_m
    start, end = (length_m - to_m, length_m - piece.from_m) if piece.turned else (piece.from_m, to_m)
    start, end = min(max(start, 0.0), length_m), min(max(end, 0.0), length_m)
    return (0.0 if start < SAME_M else start, end)


def _union(lengths: Sequence[Span]) -> list[Span]:
    found: list[Span] = []
    for start, end in sorted(lengths):
        if end - start <= SAME_M:
            continue
        if found and start <= found[-1][1] + SAME_M:
            found[-1] = (found[-1][0], max(found[-1][1], end))
        else:
            found.append((start, end))
    return found


def _between(spans: Sequence[Span], length_m: float) -> list[Span]:
    found, at = [], 0.0
    for start, end in [*spans, (length_m, length_m)]:
        if start - at > SAME_M:
            found.append((at, start))
        at = max(at, end)
    return found
