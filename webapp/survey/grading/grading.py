"""The condition class of one observation for tightness, stability and operation.

The frame is that of BFR Abwasser, Annex A-3; the limits are those of a scheme, ``tables/grading_limits.json``
or a firm's own file of the same form. Classes run from 1 (slight) to 5 (severe). Where something is not
recorded the class is an interval, never a guess.
"""

from collections.abc import Mapping, Sequence
from typing import Literal, TypedDict

from ..coding.codes import LetterField
from ..flow.narrowing import capacity_left
from ..records import ObservationFields, Shape, StretchFields
from ..section.bore import BoreSizes
from ..table_types.condition import Goal, GradingLimits, GradingRow
from .class_limits import MILD, SEVERE, class_by_limits, class_by_share

GOALS: tuple[Goal, ...] = ("tightness", "stability", "operation")
Stiffness = Literal["rigid", "flexible", "unknown"]


class Found(TypedDict):
    """The preliminary class of an observation for one goal, from its certain to its possible."""

    low: int
    high: int
    row: int  # of the scheme
    rule: Literal["flat", "limits", "capacity"]
    quantity: float | None
    unit: str | None
    limit: float | None
    left_low_pct: float | None
    left_high_pct: float | None
    left_of: str | None  # capacity or area
    review: bool
    findings: list[str]


class Pipe(TypedDict):
    """What the classes need to know of the pipe: gradient [m/m], roughness [mm]."""

    pipe: Stiffness
    kind: Shape | None
    bore: BoreSizes | None
    gradient: float | None
    roughness_mm: float


class Carries(TypedDict):
    """What is taken of a row of capacities: gradient [m/m], roughness [mm]."""

    gradient: float | None
    roughness_mm: float | None


Classes = Mapping[Goal, Found | None]


def classes_of(fields: ObservationFields, pipe: Pipe, scheme: GradingLimits) -> dict[Goal, Found | None]:
    """Return the preliminary class of an observation for each protection goal.

    Parameters
    ----------
    fields : mapping
        Fields of the observation; its sizes in the units of its code [mm, % or degrees].

    Returns
    -------
    dict
        For ``tightness``, ``stability``, ``operation``: None where the scheme has no row for it, else ``low``
        and ``high`` (1 to 5, equal where the class is settled), ``row`` (index in the scheme), ``rule``,
        ``quantity`` and ``limit`` (that of class ``high``) [``unit``] or None, ``left_low_pct``,
        ``left_high_pct`` [%] and ``left_of`` (capacity or area) of what narrows the pipe, ``review``,
        ``findings``: ``size_not_recorded``, ``kind_not_recorded``, ``pipe_not_known`` and those of
        ``narrowing.capacity_left``.

    Raises
    ------
    SurveyError
        ``size_out_of_range`` for a narrowing below 0.

    References
    ----------
    BFR Abwasser, Annex A-3: a class for each goal from code, characterisation and size. A size counts to a
    thousandth of its unit, a share to a tenth of a percent: own rule.

    Examples
    --------
    >>> row = {"code": "BAB", "characterisation_1": [], "characterisation_2": [], "pipe": "any", "goal":
    ...        "stability", "rule": "limits", "unit": "mm", "limits": {"1": 0, "3": 2}, "review": False}
    >>> pipe = {"pipe": "rigid"}
    >>> classes_of({"code": "BAB", "quantification_1": 2}, pipe, {"rows": [row]})["stability"]["high"]
    3
    """
    return {goal: _class_for(goal, fields, pipe, scheme) for goal in GOALS}


def over_variants(each: Sequence[Classes]) -> dict[Goal, Found | None]:
    """Return the classes over all values that stand in dispute: from the mildest to the most severe.

    Parameters
    ----------
    each : sequence of mapping
        ``classes_of`` of each variant, the one that is shown first.

    Returns
    -------
    dict
        As ``classes_of``; what differs between the variants is an interval with the finding ``disputed``.

    Examples
    --------
    >>> one = {"low": 3, "high": 3, "findings": [], "left_of": None, "review": False}
    >>> each = [dict.fromkeys(GOALS, one), dict.fromkeys(GOALS, one | {"low": 4, "high": 4})]
    >>> found = over_variants(each)["operation"]
    >>> found["low"], found["high"], found["findings"]
    (3, 4, ['disputed'])
    """
    if len(each) == 1:
        return dict(each[0])
    return {goal: _disputed([one[goal] for one in each]) for goal in GOALS}


def _disputed(each: Sequence[Found | None]) -> Found | None:
    graded = [one for one in each if one is not None]
    if not graded:
        return None
    found = _together(graded)
    if len(graded) < len(each):  # under one of the values nothing would be graded
        found = found | {"low": MILD}
    if len({one["left_of"] for one in graded}) == 1 and found["left_of"] is not None:
        found["left_low_pct"] = min(v for one in graded if (v := one["left_low_pct"]) is not None)
        found["left_high_pct"] = max(v for one in graded if (v := one["left_high_pct"]) is not None)
    same = len(graded) == len(each) and all(
        (o["low"], o["high"]) == (found["low"], found["high"]) for o in graded
    )
    return found if same else found | {"findings": [*found["findings"], "disputed"]}


def is_graded(code: str, scheme: GradingLimits) -> bool:
    """Say whether a scheme has any row for a code.

    Parameters
    ----------
    code : str
        Main code, for example ``BAB``.

    Examples
    --------
    >>> is_graded("BDA", {"rows": []})
    False
    """
    return any(row["code"] == code for row in scheme["rows"])


def pipe_of(stretch: StretchFields | None, carries: Carries | None, scheme: GradingLimits) -> Pipe:
    """Return what the classes need to know of the pipe.

    Parameters
    ----------
    stretch : mapping or None
        Fields of the stretch; None where none is recorded.
    carries : mapping or None
        Its row of ``run_capacity`` (gradient [m/m], roughness [mm]).

    Returns
    -------
    dict
        ``pipe``: rigid, flexible or unknown; ``kind``: the shape or None; ``bore``: ``kind``, ``height_m``,
        ``width_m`` [m] as laid, or None; ``gradient`` [m/m] or None; ``roughness_mm`` [mm].

    Examples
    --------
    >>> pipe_of(None, None, {"pipes": {"rigid": [], "flexible": []}})["pipe"]
    'unknown'
    """
    fields: StretchFields = stretch or {}
    material, kind, height_mm = fields.get("material"), fields.get("shape"), fields.get("height_mm")
    pipes = scheme["pipes"]
    stiff: Stiffness = "rigid" if material in pipes["rigid"] else "unknown"
    if stiff == "unknown" and material in pipes["flexible"]:
        stiff = "flexible"
    width_mm = fields.get("width_mm")
    bore: BoreSizes | None = None
    alone = kind in ("circular", "egg")
    if kind in ("circular", "egg", "rectangular", "oval", "arch", "u_shape") and height_mm is not None:
        if alone or width_mm is not None:
            width_m = None if width_mm is None else width_mm / 1000
            bore = {"kind": kind, "height_m": height_mm / 1000, "width_m": width_m}
    gradient, rough = (carries["gradient"], carries["roughness_mm"]) if carries else (None, None)
    return {
        "pipe": stiff,
        "kind": kind if alone or kind in ("rectangular", "oval", "arch", "u_shape") else None,
        "bore": bore,
        "gradient": gradient,
        "roughness_mm": 1.5 if rough is None else rough,
    }


def _class_for(goal: Goal, fields: ObservationFields, pipe: Pipe, scheme: GradingLimits) -> Found | None:
    rows: list[tuple[int, GradingRow, list[str]]] = []
    for index, row in enumerate(scheme["rows"]):
        if row["goal"] != goal or row["code"] != fields.get("code"):
            continue
        missing = _match(row, fields, pipe)
        if missing is not None:
            rows.append((index, row, missing))
    sure = [one for one in rows if not one[2]]
    used = sure[:1] or rows
    if not used:
        return None
    return _together([_by_row(index, row, missing, fields, pipe, scheme) for index, row, missing in used])


def _match(row: GradingRow, fields: ObservationFields, pipe: Pipe) -> list[str] | None:
    """What is not recorded that would decide whether a row applies; None where it does not."""
    missing: list[str] = []
    letters: tuple[LetterField, ...] = ("characterisation_1", "characterisation_2")
    for name in letters:
        if not row[name]:
            continue
        value = fields.get(name)
        if not value and row.get("optional"):
            return None
        if not value:
            whole = name == "characterisation_2" and row.get("patterns") == "all"
            missing.append("pattern_not_recorded" if whole else "kind_not_recorded")
        elif value not in row[name]:
            return None
    if row["pipe"] != "any":
        if pipe["pipe"] == "unknown":
            missing.append("pipe_not_known")
        elif pipe["pipe"] != row["pipe"]:
            return None
    return missing


def _together(found: Sequence[Found]) -> Found:
    """One class from the rows that may apply: from the mildest to the most severe."""
    worst = found[0]
    findings: list[str] = []
    low, review = SEVERE, False
    for one in found:
        low = min(low, one["low"])
        review = review or one["review"]
        findings += [code for code in one["findings"] if code not in findings]
        if one["high"] > worst["high"]:
            worst = one
    if "kind_not_recorded" in findings:
        low = MILD
    return worst | {"low": low, "review": review, "findings": findings}


def _by_row(
    index: int, row: GradingRow, missing: list[str], fields: ObservationFields,
    pipe: Pipe, scheme: GradingLimits,
) -> Found:  # fmt: skip
    found: Found = {
        "low": MILD, "high": SEVERE, "row": index, "rule": row["rule"], "quantity": None,
        "unit": row.get("unit"), "limit": None, "left_low_pct": None, "left_high_pct": None, "left_of": None,
        "review": row["review"], "findings": list(dict.fromkeys(missing)),
    }  # fmt: skip
    if row["rule"] == "flat":
        return found | {"low": row["class"], "high": row["class"], "unit": None}
    size = fields.get("quantification_1")
    if size is None:
        found["findings"].append("size_not_recorded")
        if row["rule"] == "limits":
            reachable = sorted(int(c) for c in row["limits"])
            found |= {"low": reachable[0], "high": reachable[-1]}
        return found
    found["quantity"] = size
    if row["rule"] == "limits":
        reached = class_by_limits(size, row["limits"])
        return found | {"low": reached, "high": reached, "limit": row["limits"][str(reached)]}
    return _by_capacity(found, row["form"], size, pipe, scheme)


def _by_capacity(found: Found, form: str, size: float, pipe: Pipe, scheme: GradingLimits) -> Found:
    left = capacity_left(form, size, pipe["bore"], pipe["kind"], pipe["gradient"], pipe["roughness_mm"])
    found["findings"] += left["findings"]
    low_pct, high_pct = left["low_pct"], left["high_pct"]
    if left["of"] is None or low_pct is None or high_pct is None:
        return found
    limits = scheme["capacity_left_pct" if left["of"] == "capacity" else "area_left_pct"]
    high = class_by_share(low_pct, limits)
    return {
        **found,
        "low": class_by_share(high_pct, limits),
        "high": high,
        "limit": limits.get(str(high)),
        "left_low_pct": left["low_pct"],
        "left_high_pct": left["high_pct"],
        "left_of": left["of"],
    }
