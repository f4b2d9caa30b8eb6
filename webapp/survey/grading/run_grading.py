"""The condition of a run: every observation graded where it lies, then the stretches and the whole run."""

from collections.abc import Mapping, Sequence
from typing import Literal, NotRequired, TypedDict

from ..coding.disputes import variants
from ..flow.disputed_pipe import pipe_variants
from ..records import ObservationFields, StretchFields, StretchRecord
from ..table_types.codes import ObservationCode
from ..table_types.condition import Goal, GradingLimits
from .graded_pieces import GradingFacts, Piece, pieces
from .grading import GOALS, Carries, Classes, Pipe, classes_of, is_graded, over_variants, pipe_of
from .immediate import Immediate, immediate_conditions, immediate_over_variants
from .points import DamageNumber, Points, class_of_number, damage_number, extra_points

LengthKnown = Literal["measured", "assumed", "unknown"]
NumberName = Literal["recorded_low", "recorded_high", "low", "high"]
GRADED_GROUPS = ("fabric", "operation")


class Graded(TypedDict):
    """What an observation comes to where it lies [m, counter; points]."""

    record_id: str
    code: str
    number: int | None
    stretch_id: str | None
    from_counter_m: float | None
    to_counter_m: float | None
    length_m: float | None
    length_known: LengthKnown
    classes: Classes
    points: Points
    numbers: Mapping[Goal, DamageNumber | None]
    immediate: list[Immediate]


class Ungraded(TypedDict):
    """A defect for which the scheme has no row."""

    record_id: str
    code: str


class GoalClass(TypedDict):
    """The class of a stretch or run for one goal, and the index of what caused it."""

    low: int
    high: int
    cause: int | None


class Summary(TypedDict):
    """What a stretch or a run comes to [m, counter; points]; the last two with what could not be seen [m]."""

    id: str | None
    from_counter_m: float | None
    to_counter_m: float | None
    graded: list[int]
    immediate: list[int]
    goals: dict[Goal, GoalClass]
    number_low: float | None
    number_high: float | None
    bound_low: float | None
    bound_high: float | None
    class_low: int
    class_high: int
    length_number_low: float
    length_number_high: float | None
    unseen_m: NotRequired[float | None]
    extent_m: NotRequired[float | None]


class Grading(TypedDict):
    """The preliminary condition of a run."""

    graded: list[Graded]
    ungraded: list[Ungraded]
    stretches: list[Summary]
    run: Summary


def run_grading(facts: GradingFacts, code_rows: Sequence[ObservationCode], scheme: GradingLimits) -> Grading:
    """Return the preliminary condition of a run, of its stretches and of each observation.

    Returns
    -------
    dict
        ``graded``, in order of place, what has none last: ``record_id``, ``code``, ``number`` (of something
        continuous, or None),
        ``stretch_id`` (None outside every stretch), ``from_counter_m``, ``to_counter_m`` [m], ``length_m``
        [m] that counts, ``length_known``, ``classes`` as ``classes_of``, ``points`` as ``extra_points``,
        ``numbers`` per goal as ``damage_number`` or None, ``immediate`` as ``immediate_conditions``;
        ``ungraded``: ``record_id``, ``code`` of defects for which the scheme has no row;
        ``stretches`` and ``run``: ``id``, ``from_counter_m``, ``to_counter_m`` [m], ``graded`` (indexes),
        ``immediate`` (indexes), ``goals`` (``low``, ``high``, 0 where nothing was graded, and ``cause``:
        index of what caused it), ``number_low``, ``number_high`` of the object from what is recorded,
        ``bound_low``, ``bound_high`` with what is not, ``class_low``, ``class_high`` of those,
        ``length_number_low``, ``length_number_high`` [points times m] (None: a length is not known).

    References
    ----------
    BFR Abwasser, Annex A-3: the object starts from its greatest damage number; the damage-length number is
    the sum of greatest number times length; a point counts 0.3 m.

    Examples
    --------
    >>> scheme = {"classes": [{"number": 0}], "rows": [], "extra_points": [], "immediate": [],
    ...           "point_length_m": 0.3, "pipes": {"rigid": [], "flexible": []}}
    >>> facts = GradingFacts({}, [], [], [], [], None, 1.0)
    >>> run_grading(facts, [], scheme)["run"]["goals"]["operation"]["high"]
    0
    """
    carries: dict[str | None, Carries] = {row["id"]: row.get("carries", row) for row in facts.capacity_rows}
    graded: list[Graded] = []
    ungraded: list[Ungraded] = []
    by_id: dict[str | None, list[StretchFields | None]] = {
        one["id"]: [may["fields"] for may in pipe_variants(one)] for one in facts.stretches
    }
    groups = {row["code"]: row["group"] for row in code_rows}
    disputed = {one["id"]: one["conflicts"] for one in facts.observations if one.get("conflicts")}
    for piece in pieces(facts):
        code = piece["fields"].get("code") or ""
        found = None
        mays = variants(piece["fields"], disputed.get(piece["record_id"]))
        if any(is_graded(may.get("code") or "", scheme) for may in mays):
            carried = carries.get(piece["stretch_id"])
            pipes = [pipe_of(one, carried, scheme) for one in by_id.get(piece["stretch_id"], [None])]
            found = _graded(piece, mays, pipes, facts, scheme)
        provenance: Ungraded = {"record_id": piece["record_id"], "code": code}
        if found is not None:
            graded.append(found)
        elif groups.get(code, "fabric") in GRADED_GROUPS and provenance not in ungraded:
            ungraded.append(provenance)
    every = range(len(graded))
    return {
        "graded": graded,
        "ungraded": ungraded,
        "stretches": [_stretch(one, graded, scheme) for one in facts.stretches],
        "run": _summary(None, None, facts.end_counter_m, graded, list(every), scheme),
    }


def _stretch(stretch: StretchRecord, graded: Sequence[Graded], scheme: GradingLimits) -> Summary:
    mine = [k for k, one in enumerate(graded) if one["stretch_id"] == stretch["id"]]
    fields = stretch["fields"]
    start, end = fields.get("from_counter_m"), fields.get("to_counter_m")
    return _summary(stretch["id"], start, end, graded, mine, scheme)


def _graded(
    piece: Piece, mays: Sequence[ObservationFields], pipes: Sequence[Pipe], facts: GradingFacts,
    scheme: GradingLimits,
) -> Graded | None:  # fmt: skip
    fields = piece["fields"]
    each = [(may, classes_of(may, pipe, scheme)) for may in mays for pipe in pipes]
    classes = over_variants([found for _, found in each])
    immediate = immediate_over_variants(
        [immediate_conditions(may, found, facts.run, scheme) for may, found in each]
    )
    if all(classes[goal] is None for goal in GOALS) and not immediate:
        return None
    points = extra_points(fields, facts.run, scheme)
    numbers: dict[Goal, DamageNumber | None] = {}
    for goal in GOALS:
        one = classes[goal]
        numbers[goal] = None if one is None else damage_number(one["low"], one["high"], points[goal], scheme)
    length_m, provenance = _length(piece, scheme["point_length_m"], facts.scale)
    return {
        "record_id": piece["record_id"], "code": fields.get("code") or "", "number": piece["number"],
        "stretch_id": piece["stretch_id"], "from_counter_m": piece["from_counter_m"],
        "to_counter_m": piece["to_counter_m"], "length_m": length_m, "length_known": provenance,
        "classes": classes, "points": points, "numbers": numbers, "immediate": immediate,
    }  # fmt: skip


def _length(piece: Piece, point_m: float, scale: float) -> tuple[float | None, LengthKnown]:
    """The length that counts: at least that of a point; not known where it has no end."""
    from_m, to_m = piece["from_counter_m"], piece["to_counter_m"]
    if from_m is None or to_m is None:
        return None, "unknown"
    long_m = (to_m - from_m) * scale
    if piece["number"] is None and piece["fields"].get("code") == "BAC":
        long_m = (piece["fields"].get("quantification_1") or 0) / 1000
    return (long_m, "measured") if long_m > point_m else (point_m, "assumed")


def _summary(
    identity: str | None, from_m: float | None, to_m: float | None, graded: Sequence[Graded],
    mine: list[int], scheme: GradingLimits,
) -> Summary:  # fmt: skip
    greatest: dict[NumberName, float | None] = {}
    names: tuple[NumberName, ...] = ("recorded_low", "recorded_high", "low", "high")
    for name in names:
        numbers = [_greatest(graded[k], name) for k in mine]
        greatest[name] = max((n for n in numbers if n is not None), default=None)
    lengths = [_length_number(graded[k]) for k in mine]
    least, most = 0.0, 0.0
    settled = True
    for low, high in lengths:
        least += low
        most += high or 0.0
        settled = settled and high is not None
    return {
        "id": identity,
        "from_counter_m": from_m,
        "to_counter_m": to_m,
        "graded": mine,
        "immediate": [k for k in mine if graded[k]["immediate"]],
        "goals": {goal: _goal(goal, graded, mine) for goal in GOALS},
        "number_low": greatest["recorded_low"],
        "number_high": greatest["recorded_high"],
        "bound_low": greatest["low"],
        "bound_high": greatest["high"],
        "class_low": class_of_number(greatest["recorded_low"], scheme),
        "class_high": class_of_number(greatest["recorded_high"], scheme),
        "length_number_low": least,
        "length_number_high": most if settled else None,
    }


def _goal(goal: Goal, graded: Sequence[Graded], mine: Sequence[int]) -> GoalClass:
    """The worst class, from its certain to its possible; its cause is what may be worst, the surest first."""
    low, high, cause = 0, 0, None
    best = (0, 0)
    for k in mine:
        one = graded[k]["classes"][goal]
        if one is None:
            continue
        low, high = max(low, one["low"]), max(high, one["high"])
        if (one["high"], one["low"]) > best:
            best, cause = (one["high"], one["low"]), k
    return {"low": low, "high": high, "cause": cause}


def _greatest(one: Graded, name: NumberName) -> float | None:
    return max((n[name] for n in one["numbers"].values() if n is not None), default=None)


def _length_number(one: Graded) -> tuple[float, float | None]:
    low, high = _greatest(one, "recorded_low"), _greatest(one, "recorded_high")
    if low is None or high is None:
        return 0.0, 0.0
    if one["length_m"] is None:
        return 0.0, None
    return low * one["length_m"], high * one["length_m"]
