"""Comparing the two sides: numbers to 1e-9 relative, directions round the circle, errors exactly."""

import math

import pytest
from twin import TwinError

from webapp.survey.errors import SurveyError

TURNS = ("azimuth_deg", "adjusted_azimuth_deg", "lon_deg", "azimuth_from_deg", "azimuth_to_deg", "bearing")


def far(ours, theirs, floor=1e-9, name=""):
    """Return the worst relative difference of two results; infinite where the shape differs."""
    if isinstance(ours, bool | str) or ours is None or isinstance(theirs, bool | str) or theirs is None:
        return 0.0 if type(ours) is type(theirs) and ours == theirs else math.inf
    if isinstance(ours, int | float):
        apart = abs(ours - theirs)
        if name in TURNS:  # the long axis of an ellipse has two directions
            whole = 180 if name == "azimuth_deg" else 360
            apart = min(apart % whole, whole - apart % whole)
        return apart / max(abs(ours), abs(theirs), floor) if apart else 0.0
    if isinstance(ours, dict):
        if set(ours) != set(theirs):
            return math.inf
        return max((far(v, theirs[k], floor, k) for k, v in ours.items()), default=0.0)
    if len(ours) != len(theirs):
        return math.inf
    return max((far(x, y, floor, name) for x, y in zip(ours, theirs, strict=True)), default=0.0)


def agree(twin, module, name, function, *args, floor=1.0, within=1e-9):
    """Run both sides; they agree, or refuse with the same code, field and index.  Returns ours."""
    try:
        ours = function(*args)
    except SurveyError as error:
        with pytest.raises(TwinError) as caught:
            twin.call(module, name, *args)
        theirs = (caught.value.code, caught.value.field, caught.value.index)
        assert theirs == (error.code, error.field, error.index)
        return None
    theirs = twin.call(module, name, *args)
    assert far(ours, theirs, floor) <= within, (ours, theirs)
    return ours


def refuses(twin, module, name, function, *args):
    """Both sides refuse alike, or neither does; what they compute is not compared."""
    assert refusal(function, *args) == refusal(lambda *a: twin.call(module, name, *a), *args), (name, args)


def refusal(function, *args):
    """Return code, field and index of the error, or None."""
    try:
        function(*args)
    except (SurveyError, TwinError) as error:
        return error.code, error.field, error.index
    return None
