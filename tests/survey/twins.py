"""Comparing the two sides: numbers to 1e-9 relative, directions round the circle, errors exactly."""

import math

from twin import TwinError

from webapp.survey.errors import SurveyError
from webapp.survey.review.plausibility import FindingFacts, run_findings

TURNS = ("azimuth_deg", "adjusted_azimuth_deg", "lon_deg", "azimuth_from_deg", "azimuth_to_deg", "bearing")


LEAVES = frozenset({str, int, float, bool, type(None)})


def as_json(value):
    """Return records as the objects and lists of JSON, without a copy of every text and number."""
    kind = type(value)
    if kind in LEAVES:
        return value
    if kind is list or kind is tuple:
        return [one if type(one) in LEAVES else as_json(one) for one in value]
    if kind is dict:
        return {str(key): one if type(one) in LEAVES else as_json(one) for key, one in value.items()}
    if names := getattr(kind, "__dataclass_fields__", None) or getattr(kind, "_fields", None):
        return {name: as_json(getattr(value, name)) for name in names}
    return value


def far(ours, theirs, floor=1e-9, name=""):
    """Return the worst relative difference of two results; infinite where the shape differs."""
    if type(ours) is type(theirs) and type(ours) in LEAVES and ours == theirs:
        return 0.0  # most of the millions that are compared
    if isinstance(ours, bool | str) or ours is None or isinstance(theirs, bool | str) or theirs is None:
        return 0.0 if type(ours) is type(theirs) and ours == theirs else math.inf
    if isinstance(ours, int | float):
        apart = abs(ours - theirs)
        if name in TURNS:  # the long axis of an ellipse has two directions
            whole = 180 if name == "azimuth_deg" else 360
            apart = min(apart % whole, whole - apart % whole)
        if math.isnan(apart):  # max() below would pass over it
            return 0.0 if math.isnan(ours) and math.isnan(theirs) else math.inf
        return apart / max(abs(ours), abs(theirs), floor) if apart else 0.0
    if isinstance(ours, dict):
        if set(ours) != set(theirs):
            return math.inf
        return max((far(v, theirs[k], floor, k) for k, v in ours.items()), default=0.0)
    if len(ours) != len(theirs):
        return math.inf
    return max((far(x, y, floor, name) for x, y in zip(ours, theirs, strict=True)), default=0.0)


def agree(twin, module, name, function, *args, floor=1.0, within=1e-9):
    """Run both sides; they agree, or refuse with the same code, field and index.  Returns ours.

    Within ``@parity`` the other side is asked later, together with other calls.
    """
    try:
        ours, refused = function(*args), None
    except SurveyError as error:
        ours, refused = None, (error.code, error.field, error.index)

    def check(theirs, error):
        assert refused == (error and (error.code, error.field, error.index)), (args, refused, error)
        assert refused or far(ours, theirs, floor) <= within, (ours, theirs)

    requested(twin, module, name, args, check)
    return ours


def found_by_name(twin, facts, rows):
    """What ``run_findings`` says on both sides, from facts by name."""
    module = "survey/review/plausibility"
    return agree(
        twin,
        module,
        "run_findings",
        lambda plain, codes: run_findings(FindingFacts(**plain), codes),
        facts,
        rows,
    )


def refuses(twin, module, name, function, *args):
    """Both sides refuse alike, or neither does; what they compute is not compared."""
    ours = refusal(function, *args)

    def check(_, error):
        assert ours == (error and (error.code, error.field, error.index)), (name, args, error)

    requested(twin, module, name, args, check)


def requested(twin, module, name, args, check):
    """Hand the other side's answer to ``check``: later, in ``@parity``, or now."""
    if hasattr(twin, "expect"):
        twin.expect(module, name, args, check)
        return
    try:
        answer = (twin.call(module, name, *args), None)
    except TwinError as error:
        answer = (None, error)
    check(*answer)


def refusal(function, *args):
    """Return code, field and index of the error, or None."""
    try:
        function(*args)
    except (SurveyError, TwinError) as error:
        return error.code, error.field, error.index
    return None
