"""A round pipe out of round: deformation, ovality in both definitions, area lost."""

from ..survey.errors import SurveyError
from ..survey.numbers.checks import number_between
from ..survey.section.bore import MAX_M, MIN_M


def deformation(
    original_diameter_m: float, vertical_diameter_m: float, horizontal_diameter_m: float
) -> dict[str, float]:
    """Return the deformation against the original diameter.

    Parameters
    ----------
    original_diameter_m : float
        Inside diameter when new [m].
    vertical_diameter_m, horizontal_diameter_m : float
        Inside diameters now [m].

    Returns
    -------
    dict
        ``vertical_deformation_pct``: how much lower than new [%]; ``horizontal_deformation_pct``: how
        much wider than new [%]. Negative the other way. Not rounded.

    Raises
    ------
    SurveyError
        ``size_out_of_range`` below 1 mm or above 100 m.

    References
    ----------
    In percent of the original diameter, as limits on flexible pipes are stated, e.g. DWA-A 127.

    Examples
    --------
    >>> round(deformation(0.3, 0.282, 0.318)["vertical_deformation_pct"], 9)
    6.0
    """
    original = _size(original_diameter_m, "original_diameter_m")
    vertical = _size(vertical_diameter_m, "vertical_diameter_m")
    horizontal = _size(horizontal_diameter_m, "horizontal_diameter_m")
    return {
        "vertical_deformation_pct": 100 * (original - vertical) / original,
        "horizontal_deformation_pct": 100 * (horizontal - original) / original,
    }


def ovality(maximum_diameter_m: float, minimum_diameter_m: float, mean_diameter_m: float) -> dict[str, float]:
    """Return the ovality in both definitions in use; the second is about twice the first.

    Parameters
    ----------
    maximum_diameter_m, minimum_diameter_m, mean_diameter_m : float
        Greatest, least and mean inside diameter [m].

    Returns
    -------
    dict
        ``from_maximum_pct`` (greatest - mean) / mean and ``from_minimum_pct`` (mean - least) / mean
        [%]; ``of_range_pct`` (greatest - least) / mean [%]. Not rounded.

    Raises
    ------
    SurveyError
        ``size_out_of_range`` below 1 mm or above 100 m; ``diameters_out_of_order`` unless least,
        mean and greatest follow one another.

    References
    ----------
    First definition: ASTM F1216, X1.2.1. Second: usual for pipes as made, e.g. EN ISO 3126.

    Examples
    --------
    >>> round(ovality(0.318, 0.282, 0.3)["from_maximum_pct"], 9)
    6.0
    """
    greatest = _size(maximum_diameter_m, "maximum_diameter_m")
    least = _size(minimum_diameter_m, "minimum_diameter_m")
    mean = _size(mean_diameter_m, "mean_diameter_m")
    if not least <= mean <= greatest:
        raise SurveyError("diameters_out_of_order", "mean_diameter_m")
    return {
        "from_maximum_pct": 100 * (greatest - mean) / mean,
        "from_minimum_pct": 100 * (mean - least) / mean,
        "of_range_pct": 100 * (greatest - least) / mean,
    }


def ovality_reduction_factor(ovality_pct: float) -> float:
    """Return by how much ovality lowers the resistance of a liner to buckling.

    Parameters
    ----------
    ovality_pct : float
        Ovality by the first definition, (greatest - mean) / mean [%], 0 to 99.

    Returns
    -------
    float
        Factor, 1 for a round pipe. Not rounded.

    Raises
    ------
    SurveyError
        ``share_out_of_range`` outside 0 to 99 %.

    References
    ----------
    C = ((1 - q) / (1 + q)^2)^3: ASTM F1216-16, X1.2.1 (from memory, confirmed by its table).

    Examples
    --------
    >>> round(ovality_reduction_factor(5.0), 2)
    0.64
    """
    q = number_between(ovality_pct, 0.0, 99.0, "ovality_pct", "share_out_of_range") / 100
    one = (1 - q) / ((1 + q) * (1 + q))
    return one * one * one


def area_lost_to_ovality(ovality_pct: float) -> float:
    """Return the area that a circle loses when pressed into an ellipse of equal mean diameter.

    Parameters
    ----------
    ovality_pct : float
        Ovality by the first definition [%], 0 to 99.

    Returns
    -------
    float
        Area lost [% of the circle]. Not rounded.

    Raises
    ------
    SurveyError
        ``share_out_of_range`` outside 0 to 99 %.

    References
    ----------
    Axes D(1 + q) and D(1 - q): area ratio 1 - q^2; geometry.

    Examples
    --------
    >>> area_lost_to_ovality(25.0)
    6.25
    """
    q = number_between(ovality_pct, 0.0, 99.0, "ovality_pct", "share_out_of_range") / 100
    return 100 * q * q


def _size(value: float, field: str) -> float:
    return number_between(value, MIN_M, MAX_M, field, "size_out_of_range")
