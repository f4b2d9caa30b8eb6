"""From class to number: extra points for what is around the pipe, the object number and its class."""

from typing import TypedDict

from ..records import Clock, ObservationFields, RunFields
from ..table_types.condition import GradingLimits, PointsInput
from .grading import GOALS

SITE: tuple[PointsInput, ...] = ("water_carried", "protection_zone", "groundwater", "soil")
OWN: tuple[PointsInput, ...] = ("clock", "at_joint")


class Sum(TypedDict):
    """Extra points: those that are recorded, and the bounds with what is not."""

    recorded: float
    low: float
    high: float


class Points(TypedDict):
    """The extra points of an observation: which rows count, which inputs lack, and the sum per goal."""

    parts: list[int]
    missing: list[str]
    tightness: Sum
    stability: Sum
    operation: Sum


class DamageNumber(TypedDict):
    """The number of a class with its extra points."""

    recorded_low: float
    recorded_high: float
    low: float
    high: float


def extra_points(fields: ObservationFields, run: RunFields, scheme: GradingLimits) -> Points:
    """Return the extra points of an observation: those that follow from the records, and those that may.

    Parameters
    ----------
    run : mapping
        Fields of its run: ``water_carried``, ``protection_zone``, ``groundwater``, ``soil``.

    Returns
    -------
    dict
        ``parts``: rows of the scheme that apply, by their index; ``missing``: inputs that are not recorded;
        and for each goal ``recorded``, ``low`` and ``high`` [points]: the sum of what is recorded, and the
        bounds with what is not.

    References
    ----------
    BFR Abwasser, Annex A-3, Tab. A-3-3. A range of hours over 3 or 9 o'clock may count to either half.

    Examples
    --------
    >>> row = {"input": "at_joint", "value": "yes", "tightness": 10, "stability": None, "operation": None}
    >>> extra_points({"at_joint": True}, {}, {"extra_points": [row]})["tightness"]["recorded"]
    10
    """
    found: Points = {
        "parts": [], "missing": [], "tightness": _nothing(), "stability": _nothing(), "operation": _nothing()
    }  # fmt: skip
    for name in (*SITE, *OWN):
        rows = [(k, row) for k, row in enumerate(scheme["extra_points"]) if row["input"] == name]
        if not rows:
            continue
        values = _values(name, fields, run)
        fitting = [one for one in rows if one[1]["value"] in values]
        settled = len(fitting) == 1 and len(values) == 1
        if settled:
            found["parts"].append(fitting[0][0])
        else:
            found["missing"].append(name)
        for goal in GOALS:
            counted = [row[goal] or 0 for _, row in (fitting or rows)]
            found[goal]["low"] += min(counted)
            found[goal]["high"] += max(counted)
            found[goal]["recorded"] += counted[0] if settled else 0
    return found


def damage_number(low: int, high: int, points: Sum, scheme: GradingLimits) -> DamageNumber:
    """Return the number of a class with its extra points.

    Parameters
    ----------
    points : mapping
        ``recorded``, ``low``, ``high`` [points], from ``extra_points``.

    Returns
    -------
    dict
        ``recorded_low``, ``recorded_high``: with the points that follow from the records; ``low``, ``high``:
        with all that may come [points].

    References
    ----------
    BFR Abwasser, Annex A-3, Tab. A-3-2 (10, 100, 200, 300, 400) and A-3-3.

    Examples
    --------
    >>> classes = [{"number": n} for n in (0, 10, 100, 200, 300, 400)]
    >>> damage_number(3, 3, {"recorded": 40, "low": 40, "high": 60}, {"classes": classes})["high"]
    260
    """
    least, most = scheme["classes"][low]["number"], scheme["classes"][high]["number"]
    return {
        "recorded_low": least + points["recorded"],
        "recorded_high": most + points["recorded"],
        "low": least + points["low"],
        "high": most + points["high"],
    }


def class_of_number(number: float | None, scheme: GradingLimits) -> int:
    """Return the class whose number an object number reaches.

    Parameters
    ----------
    number : float or None
        Greatest damage number of the object [points]; None where nothing was graded.

    References
    ----------
    That the object number starts from the greatest damage number: BFR Abwasser, Annex A-3. The step back to
    a class is our own rule; the guideline's was not seen.

    Examples
    --------
    >>> classes = [{"number": n} for n in (0, 10, 100, 200, 300, 400)]
    >>> class_of_number(None, {"classes": classes}), class_of_number(260, {"classes": classes})
    (0, 3)
    """
    if number is None:
        return 0
    reached = 1
    for place, one in enumerate(scheme["classes"]):
        if place > 0 and number >= one["number"]:
            reached = place
    return reached


def _nothing() -> Sum:
    return {"recorded": 0, "low": 0, "high": 0}


def _values(name: PointsInput, fields: ObservationFields, run: RunFields) -> list[str]:
    """The values that an input may have by the records; none where nothing is recorded."""
    if name == "at_joint":
        joint = fields.get("at_joint")
        return [] if joint is None else ["yes" if joint else "no"]
    if name == "clock":
        return _halves(fields.get("clock"))
    value = run.get(name)
    return [] if value is None or value == "unknown" else [str(value)]


def _halves(clock: Clock | None) -> list[str]:
    if not clock:
        return []
    start, end = int(clock["hour_from"]), clock.get("hour_to")
    end = start if end is None else int(end)
    if end == start and clock.get("hour_to") is not None:
        return ["whole"]
    hours = [start]
    while hours[-1] != end and len(hours) < 12:
        hours.append(hours[-1] % 12 + 1)
    lower = all(3 <= hour <= 9 for hour in hours)
    upper = all(hour <= 3 or hour >= 9 for hour in hours)
    if lower != upper:
        return ["lower"] if lower else ["upper"]
    return ["lower", "upper"]
