"""A round pipe out of round: the ellipse that it makes."""

from ..numbers.checks import number_between
from .bore import MAX_M, MIN_M, Bore


def deformed_circle(diameter_m: float, deformation_pct: float) -> Bore:
    """Return the bore of a round pipe pressed into an ellipse.

    Parameters
    ----------
    diameter_m : float
        Original inside diameter [m].
    deformation_pct : float
        Loss of height [% of the original diameter], -50 (taller) to 50; the width gains as much.

    Returns
    -------
    Bore
        ``elliptical``, or ``circular`` when there is no deformation [m].

    Raises
    ------
    SurveyError
        ``size_out_of_range`` for the diameter; ``share_out_of_range`` for the deformation.

    Examples
    --------
    >>> deformed_circle(0.5, 50.0).height_m
    0.25
    """
    diameter = _size(diameter_m, "diameter_m")
    q = number_between(deformation_pct, -50.0, 50.0, "deformation_pct", "share_out_of_range") / 100
    if q == 0:
        return Bore("circular", diameter, diameter)
    return Bore("elliptical", diameter * (1 - q), diameter * (1 + q))


def _size(value: float, field: str) -> float:
    return number_between(value, MIN_M, MAX_M, field, "size_out_of_range")
