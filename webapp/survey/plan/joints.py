"""Joints that nobody observed: where along a run they lie, and how far each may turn it in plan."""

import math
from collections.abc import Mapping, Sequence
from typing import Literal, NamedTuple, TypedDict

from ..instruments.counter import chainage_m
from ..numbers.checks import number_between
from ..numbers.finite import finite
from ..records import Material, StretchFields, StretchRecord
from ..table_types.pipe import JointDeflection

CLOSE_M = 1e-9
MIN_PIPE_M, MAX_PIPE_M = 0.05, 1000.0
MIN_SD_DEG = 1.0  # of a joint of pipes shorter than the table's


class Joint(NamedTuple):
    """A joint at a distance from the start [m] with the standard deviation of its angle in plan [deg]."""

    chainage_m: float
    sd_deg: float


class PipeLengths(TypedDict):
    """Joints of one length of pipes, of which no angle was observed [m, degrees]."""

    from_m: float
    to_m: float
    pipe_m: float
    pipe_known: str
    material: str
    sd_deg: float
    count: int


class JointsAlong(TypedDict):
    """The joints of a run whose angle was not observed, and the lengths that they are of."""

    joints: list[Joint]
    lengths: list[PipeLengths]


def joints_along(
    stretches: Sequence[StretchRecord],
    span: Mapping[str, float],
    rows: Sequence[JointDeflection],
    observed_m: Sequence[float],
) -> JointsAlong:
    """Return the joints of a run whose angle was not observed.

    Parameters
    ----------
    stretches : sequence of mapping
        Stretch records of the run, each with ``fields``; in any order, with gaps or overlaps.
    span : mapping
        ``zero_m`` [m, counter], ``scale`` (a bare ratio) and ``length_m`` [m] of the run.
    rows : sequence of mapping
        Of ``tables/joint_deflections.json``; the one with the material ``""`` stands for every other. Without
        rows there are no joints.
    observed_m : sequence of float
        Chainages [m] of observed angles and bends; each stands in place of the joint within half a
        pipe of it.

    Returns
    -------
    dict
        ``joints``: list of ``Joint`` in ascending chainage. ``lengths``: of each length of one kind
        ``from_m``, ``to_m``, ``pipe_m`` [m], ``pipe_known`` (``measured`` or ``assumed``), ``material``,
        ``sd_deg`` [deg] and ``count``. Lengths that no stretch covers count as a material not recorded.

    Raises
    ------
    SurveyError
        ``pipe_length_out_of_range`` outside 0.05 to 1000 m; ``scale_not_positive``, ``number_not_finite``.

    Notes
    -----
    Pipes shorter than those of the table turn as much a metre, by the root of the length, but no joint less
    than 1 degree.

    References
    ----------
    Our own rule; each row of the table says what it rests on.

    Examples
    --------
    >>> rows = [{"material": "", "pipe_length_m": 2.0, "sd_deg": 1.0}]
    >>> found = joints_along([], {"zero_m": 0.0, "scale": 1.0, "length_m": 5.0}, rows, [4.3])
    >>> found["joints"]
    [Joint(chainage_m=2.0, sd_deg=1.0)]
    """
    by_material = {row["material"]: row for row in rows}
    joints: list[Joint] = []
    lengths: list[PipeLengths] = []
    if "" not in by_material:
        return {"joints": joints, "lengths": lengths}
    for from_m, to_m, fields in _pieces(stretches, span):
        material: Material | Literal[""] = fields.get("material") or ""
        row = by_material.get(material) or by_material[""]
        own = fields.get("pipe_unit_length_m")
        pipe_m = number_between(
            row["pipe_length_m"] if own is None else own,
            MIN_PIPE_M,
            MAX_PIPE_M,
            "pipe_unit_length_m",
            "pipe_length_out_of_range",
        )
        sd_deg = row["sd_deg"]
        if pipe_m < row["pipe_length_m"]:
            sd_deg = min(sd_deg, max(MIN_SD_DEG, sd_deg * math.sqrt(pipe_m / row["pipe_length_m"])))
        here = _joints(from_m, to_m, pipe_m, sd_deg, observed_m)
        joints += here
        lengths.append({
            "from_m": from_m, "to_m": to_m, "pipe_m": pipe_m, "pipe_known": "assumed" if own is None else
            "measured", "material": material, "sd_deg": sd_deg, "count": len(here),
        })  # fmt: skip
    return {"joints": joints, "lengths": lengths}


def _pieces(
    stretches: Sequence[StretchRecord], span: Mapping[str, float]
) -> list[tuple[float, float, StretchFields]]:
    """The whole length in pieces, each with the fields of its stretch; empty fields where none covers it."""
    length_m = finite(span["length_m"], "length_m")
    placed = []
    for one in stretches:
        fields = one["fields"]
        from_m, to_m = fields.get("from_counter_m"), fields.get("to_counter_m")
        if from_m is None:
            continue
        start = chainage_m(from_m, span["zero_m"], span["scale"])
        end = length_m if to_m is None else chainage_m(to_m, span["zero_m"], span["scale"])
        placed.append((start, end, fields))
    placed.sort(key=lambda one: one[0])
    pieces: list[tuple[float, float, StretchFields]] = []
    at = 0.0
    for start, end, fields in placed:
        begin, stop = max(at, start), min(end, length_m)
        if stop <= begin + CLOSE_M:
            continue
        if begin > at + CLOSE_M:
            pieces.append((at, begin, {}))
        pieces.append((begin, stop, fields))
        at = stop
    if length_m > at + CLOSE_M:
        pieces.append((at, length_m, {}))
    return pieces


def _joints(
    from_m: float, to_m: float, pipe_m: float, sd_deg: float, observed_m: Sequence[float]
) -> list[Joint]:
    """The joints of one piece: where it begins, if that is not the start of the run, and after every pipe."""
    taken = {
        math.floor((seen - from_m) / pipe_m + 0.5)
        for seen in observed_m
        if from_m - CLOSE_M <= seen <= to_m + CLOSE_M
    }
    first = 0 if from_m > CLOSE_M else 1
    count = math.ceil((to_m - from_m - CLOSE_M) / pipe_m)
    return [Joint(from_m + k * pipe_m, sd_deg) for k in range(first, count) if k not in taken]
