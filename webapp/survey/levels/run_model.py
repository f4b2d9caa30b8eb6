"""From the records of a run to the model of its levels."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypedDict

from ..instruments.counter import chainage_m
from ..instruments.gradient import inclination_deg
from ..instruments.instruments import ASSUMED, Instruments
from ..records import LevelTieRecord, NodeFields, NodeRecord, ReadingRecord, RunFields, StretchRecord
from .input import LevelReading, LevelSetup, LevelTie, Pipes

SAME_END_M = 0.5  # a level tie nearer to a node than this stands for the node's own dip


@dataclass(frozen=True)
class RunModel:
    """What ``levels`` computes with, and what had to be left out.

    ``reading_ids`` and ``tie_ids`` name the records behind ``readings`` and ``ties``; a tie made from
    a node's cover level and dip is named by the node. ``tie_known`` has the word for each tie's
    standard deviation. ``left_out``: ``id`` and ``code`` of records that cannot take part.
    """

    setup: LevelSetup
    readings: list[LevelReading]
    reading_ids: list[str]
    ties: list[LevelTie]
    tie_ids: list[str]
    tie_known: list[str]
    zero_m: float
    end_chainage_m: float | None
    left_out: list[dict[str, str]]


def run_model(
    run: RunFields,
    readings: Sequence[ReadingRecord],
    level_ties: Sequence[LevelTieRecord],
    stretches: Sequence[StretchRecord],
    nodes: Sequence[NodeRecord],
    instruments: Instruments,
) -> RunModel:
    """Return the model of a run's levels from its records.

    Parameters
    ----------
    readings, level_ties, stretches : sequence of mapping
        Records of this run, each with ``id`` and ``fields``, in the order of their making.

    Returns
    -------
    RunModel
        Chainages [m] from the chainage datum. Pipe by pipe where a stretch has the length of its single
        pipes, whose joints lie where that puts them from its start; else straight between readings.

    Examples
    --------
    >>> from webapp.survey.instruments.instruments import instruments_of
    >>> shown = {"size": 1, "unit": "deg", "sense": "rising"}
    >>> item = {"id": "a", "fields": {"counter_m": 5.0, "inclination": shown}}
    >>> run_model({}, [item], [], [], [], instruments_of([], "r")).readings[0].deg
    1.0
    """
    zero_m = run.get("counter_zero_m") or 0.0
    placed, left_out = placed_readings(readings, zero_m, instruments.scale)
    end_m = run.get("end_counter_m")
    end = None if end_m is None else chainage_m(end_m, zero_m, instruments.scale)
    ties = _ties(level_ties, zero_m, instruments.scale, left_out) + _node_ties(
        run, nodes, level_ties, end, instruments, zero_m
    )
    farthest = max([0.0, *(p[0].chainage_m for p in placed)])
    farthest = max([farthest, *(t[0].chainage_m for t in ties)])
    last = None if end is None or end < farthest else end
    pipes = _pipes(stretches, zero_m, instruments.scale)
    known = any(one.unit_m is not None for one in pipes)
    setup = LevelSetup(
        "course" if known else "trapezoid", 0.0, None, 0.0, instruments.sd_deg, instruments.zero_sd_deg,
        instruments.scale_sd, instruments.zero_deg, instruments.limit_deg, last, pipes,
    )  # fmt: skip
    return RunModel(
        setup, [p[0] for p in placed], [p[1] for p in placed], [t[0] for t in ties], [t[1] for t in ties],
        [t[2] for t in ties], zero_m, end, left_out,
    )  # fmt: skip


def placed_readings(
    readings: Sequence[ReadingRecord], zero_m: float, scale: float
) -> tuple[list[tuple[LevelReading, str]], list[dict[str, str]]]:
    """Return the readings of a run by chainage, and those that cannot take part.

    Parameters
    ----------
    readings : sequence of mapping
        Reading records, each with ``id`` and ``fields``, in the order of their making; as ``in_length`` where
        they were taken from the other end.
    zero_m : float
        What the counter shows where the chainage is zero [m].

    Returns
    -------
    tuple
        Pairs of reading (chainage [m], inclination [deg]) and id, ascending, equal chainages in the order
        of their making; and ``id`` and ``code`` of those left out.

    Raises
    ------
    SurveyError
        ``scale_not_positive``, as ``chainage_m``; as ``inclination_deg``.

    Examples
    --------
    >>> placed_readings([{"id": "a", "fields": {}}], 0.0, 1.0)
    ([], [{'id': 'a', 'code': 'reading_incomplete'}])
    """
    placed: list[tuple[LevelReading, str]] = []
    left_out: list[dict[str, str]] = []
    for reading in readings:
        counter_m, inclination = reading["fields"].get("counter_m"), reading["fields"].get("inclination")
        if counter_m is None or not inclination:
            left_out.append({"id": reading["id"], "code": "reading_incomplete"})
            continue
        where = chainage_m(counter_m, zero_m, scale)
        if where < 0:
            left_out.append({"id": reading["id"], "code": "before_zero"})
            continue
        deg = inclination_deg(inclination)
        over = 0 if deg is not None else 1 if inclination["sense"] == "rising" else -1
        turned = bool(reading["fields"].get("turned"))
        shift_deg = reading["fields"].get("zero_shift_deg")
        if deg is not None and shift_deg is not None:
            deg += shift_deg if turned else -shift_deg
        placed.append((LevelReading(where, deg, over, None, None, turned), reading["id"]))
    placed.sort(key=lambda pair: pair[0].chainage_m)
    return placed, left_out


class NodeInvert(TypedDict):
    """The invert level at a node [m above datum] with its standard deviation [m]."""

    level_m: float
    sd_m: float
    known: str


def node_invert(fields: NodeFields) -> NodeInvert | None:
    """Return the invert level at a node: cover level less the dip.

    Returns
    -------
    dict or None
        ``level_m`` [m above datum] with ``sd_m`` [m] and the word for how that is ``known``; None
        unless cover level and dip are there.

    References
    ----------
    Sum of independent variances: any text on the propagation of errors.

    Examples
    --------
    >>> node_invert({"cover_level_m": 12.0, "dipped_depth_m": 1.5})["level_m"]
    10.5
    """
    cover_m, dip_m = fields.get("cover_level_m"), fields.get("dipped_depth_m")
    if cover_m is None or dip_m is None:
        return None
    cover_sd, dip_sd = fields.get("cover_level_sd_m"), fields.get("dipped_depth_sd_m")
    provenance = "assumed" if cover_sd is None or dip_sd is None else "measured"
    cover_sd = ASSUMED["tie_sd_m"] if cover_sd is None else cover_sd
    dip_sd = ASSUMED["dip_sd_m"] if dip_sd is None else dip_sd
    sd_m = math.sqrt(cover_sd * cover_sd + dip_sd * dip_sd)
    return {"level_m": cover_m - dip_m, "sd_m": sd_m, "known": provenance}


def _pipes(stretches: Sequence[StretchRecord], zero_m: float, scale: float) -> tuple[Pipes, ...]:
    """The stretches by chainage, with the length of their single pipes where that is recorded."""
    found = []
    for stretch in stretches:
        fields = stretch["fields"]
        from_m, to_m = fields.get("from_counter_m"), fields.get("to_counter_m")
        if from_m is None or to_m is None or to_m <= from_m:
            continue
        start, end = chainage_m(from_m, zero_m, scale), chainage_m(to_m, zero_m, scale)
        found.append(Pipes(start, end, fields.get("pipe_unit_length_m")))
    return tuple(found)


def _ties(
    level_ties: Sequence[LevelTieRecord], zero_m: float, scale: float, left_out: list[dict[str, str]]
) -> list[tuple[LevelTie, str, str]]:
    found = []
    for tie in level_ties:
        fields = tie["fields"]
        counter_m, level_m, sd_m = fields.get("counter_m"), fields.get("invert_level_m"), fields.get("sd_m")
        if counter_m is None or level_m is None:
            left_out.append({"id": tie["id"], "code": "tie_incomplete"})
            continue
        where = chainage_m(counter_m, zero_m, scale)
        if where < 0:
            left_out.append({"id": tie["id"], "code": "before_zero"})
            continue
        own = ASSUMED["tie_sd_m"] if sd_m is None else sd_m
        found.append((LevelTie(where, level_m, own), tie["id"], "assumed" if sd_m is None else "measured"))
    return found


def _node_ties(
    run: RunFields, nodes: Sequence[NodeRecord], level_ties: Sequence[LevelTieRecord], end: float | None,
    instruments: Instruments, zero_m: float,
) -> list[tuple[LevelTie, str, str]]:  # fmt: skip
    """Cover level less dip, at the start node and at the finish node if it was reached."""
    found = []
    ends = [(run.get("start_node_id"), 0.0)]
    if end is not None and end > 0 and run.get("end_reason") == "node_reached":
        ends.append((run.get("finish_node_id"), end))
    for node_id, where in ends:
        fields: NodeFields = {}
        for node in nodes:
            if node["id"] == node_id:
                fields = node["fields"]
        invert = node_invert(fields)
        if invert is None or _tied_near(level_ties, where, zero_m, instruments.scale):
            continue
        tie = LevelTie(where, invert["level_m"], invert["sd_m"])
        found.append((tie, str(node_id), str(invert["known"])))
    return found


def _tied_near(level_ties: Sequence[LevelTieRecord], where: float, zero_m: float, scale: float) -> bool:
    for tie in level_ties:
        counter_m = tie["fields"].get("counter_m")
        if counter_m is not None and tie["fields"].get("invert_level_m") is not None:
            if abs(chainage_m(counter_m, zero_m, scale) - where) < SAME_END_M:
                return True
    return False
