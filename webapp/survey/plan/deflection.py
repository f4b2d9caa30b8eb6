"""How much of a bend that turns up or down as well lies in plan, by the inclinations on both sides."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ..errors import SurveyError
from ..numbers.finite import finite
from .plan_reading import Reading

NEAR_M = 2.0  # readings nearer than this on both sides tell it better; common practice, no source


@dataclass(frozen=True)
class SlopeReadings:
    """Readings of a run in ascending chainage, and the standard deviation of one of them [deg]."""

    readings: Sequence[Reading] = ()
    sd_deg: float = 0.0


NO_SLOPES = SlopeReadings()


def deflection_in_plan_deg(turned_deg: float, before_deg: float, after_deg: float) -> float | None:
    """Return how much of a bend lies in plan, from the inclinations on both sides.

    Parameters
    ----------
    turned_deg : float
        Angle between the pipe before and after [deg], 0 to 180.
    before_deg, after_deg : float
        Inclinations before and after the bend [deg], rising ahead positive, within 90.

    Returns
    -------
    float or None
        Deflection in plan [deg], 0 to 180, without a sign; None where the inclinations alone differ by more
        than the bend turns, or a side is vertical.

    Raises
    ------
    SurveyError
        ``bend_angle_out_of_range``; ``inclination_beyond_vertical``.

    References
    ----------
    Cosine rule of spherical trigonometry.

    Examples
    --------
    >>> round(deflection_in_plan_deg(30.0, 0.0, 0.0), 9)
    30.0
    """
    if not 0 <= finite(turned_deg, "turned_deg") <= 180:
        raise SurveyError("bend_angle_out_of_range", "turned_deg")
    first, second = finite(before_deg, "before_deg"), finite(after_deg, "after_deg")
    for value, name in ((first, "before_deg"), (second, "after_deg")):
        if not -90 <= value <= 90:
            raise SurveyError("inclination_beyond_vertical", name)
    flat = math.cos(math.radians(first)) * math.cos(math.radians(second))
    if flat < 1e-12:
        return None
    # sin2(turned/2) - sin2(rise/2) = flat sin2(plan/2), as a product so that nothing cancels
    rise = second - first
    square = (
        math.sin(math.radians((turned_deg + rise) / 2))
        * math.sin(math.radians((turned_deg - rise) / 2))
        / flat
    )
    if square < 0:
        return None
    return 2 * math.degrees(math.asin(math.sqrt(min(1.0, square))))


def deflection_from_readings(
    at_m: float, turned_deg: float, sd_deg: float, slopes: SlopeReadings
) -> tuple[float, float] | None:
    """Return how much of a bend lies in plan and its spread, from the inclinations close to both sides.

    Parameters
    ----------
    at_m : float
        Chainage of the bend [m].
    turned_deg, sd_deg : float
        Angle between the pipe before and after [deg], and its standard deviation [deg].

    Returns
    -------
    tuple of float or None
        Deflection in plan, without a sign, and its standard deviation [deg]; None where no reading lies
        within 2 m on either side, or the inclinations do not tell it.

    References
    ----------
    Cosine rule of spherical trigonometry, its errors carried on in first order; the 2 m: common practice, no
    source.

    Examples
    --------
    >>> deflection_from_readings(5.0, 30.0, 2.0, NO_SLOPES) is None
    True
    """
    before = after = None
    for reading in slopes.readings:
        if reading.chainage_m <= at_m:
            before = reading
        elif after is None:
            after = reading
    if before is None or after is None or before.deg is None or after.deg is None:
        return None
    if at_m - before.chainage_m > NEAR_M or after.chainage_m - at_m > NEAR_M:
        return None
    plan = deflection_in_plan_deg(turned_deg, before.deg, after.deg)
    if plan is None:
        return None
    flat = math.cos(math.radians(before.deg)) * math.cos(math.radians(after.deg))
    scale = flat * math.sin(math.radians(plan))
    if scale < 1e-6:
        return None
    by_angle = math.sin(math.radians(turned_deg)) / scale * sd_deg
    by_rise = math.sin(math.radians(after.deg - before.deg)) / scale * slopes.sd_deg
    return plan, math.sqrt(by_angle * by_angle + 2 * by_rise * by_rise)
