"""Clock positions: true for a camera off the axis, mirrored, and the span they cover.

Angles go clockwise from straight up as seen in the direction of survey; an hour is 30 degrees.
"""

import math

from ..errors import SurveyError
from ..numbers.checks import number_between
from ..section.bore import GREATEST_M


def true_position(
    radius_m: float, camera_height_m: float, camera_right_m: float, view_deg: float
) -> dict[str, float]:
    """Return where on the wall of a round pipe a camera off the axis looks.

    Parameters
    ----------
    radius_m : float
        Inside radius [m].
    camera_height_m : float
        Lens above the invert [m].
    camera_right_m : float
        Lens to the right of the centre line [m]; negative to the left.
    view_deg : float
        Direction of view [deg], clockwise from straight up, -360 to 720.

    Returns
    -------
    dict
        ``true_deg`` [deg, 0 up to 360] seen from the pipe's axis, ``true_hours`` and ``apparent_hours`` [h,
        0 up to 12], ``nearest_hour`` (1 to 12, a half goes up), and ``wall_distance_m`` [m] from the lens
        to the wall.

    Raises
    ------
    SurveyError
        ``size_out_of_range`` for the radius; ``camera_outside_bore`` unless the lens is within the pipe;
        ``angle_out_of_range``.

    References
    ----------
    beta = alpha + asin((x cos alpha + (R - h) sin alpha) / R): sine rule in the triangle of axis, lens and
    wall point; confirmed against polygon intersection.

    Examples
    --------
    >>> round(true_position(0.15, 0.05, 0.0, 90.0)["true_hours"], 3)
    4.394
    """
    radius = number_between(radius_m, 0.001, GREATEST_M, "radius_m", "size_out_of_range")
    right = number_between(camera_right_m, -radius, radius, "camera_right_m", "camera_outside_bore")
    height = number_between(camera_height_m, 0.0, 2 * radius, "camera_height_m", "camera_outside_bore")
    view = number_between(view_deg, -360.0, 720.0, "view_deg", "angle_out_of_range")
    below = radius - height
    if right * right + below * below >= radius * radius:
        raise SurveyError("camera_outside_bore", "camera_height_m")
    alpha = math.radians(view)
    across = right * math.cos(alpha) + below * math.sin(alpha)
    ahead = right * math.sin(alpha) - below * math.cos(alpha)
    true_deg = _turn(view + math.degrees(math.asin(across / radius)), 360.0)
    hours = true_deg / 30
    return {
        "true_deg": true_deg,
        "true_hours": hours,
        "apparent_hours": _turn(view, 360.0) / 30,
        "nearest_hour": math.floor(hours + 0.5) % 12 or 12,
        "wall_distance_m": math.sqrt(radius * radius - across * across) - ahead,
    }


def apparent_position(
    radius_m: float, camera_height_m: float, camera_right_m: float, true_deg: float
) -> dict[str, float]:
    """Return in which direction a camera off the axis sees a point of the wall.

    Parameters
    ----------
    radius_m : float
        Inside radius [m].
    camera_height_m : float
        Lens above the invert [m].
    camera_right_m : float
        Lens to the right of the centre line [m]; negative to the left.
    true_deg : float
        Place on the wall seen from the pipe's axis [deg], clockwise from the crown, -360 to 720.

    Returns
    -------
    dict
        ``view_deg`` [deg, 0 up to 360], ``apparent_hours`` [h] and ``wall_distance_m`` [m].

    Raises
    ------
    SurveyError
        ``size_out_of_range``; ``camera_outside_bore``; ``angle_out_of_range``.

    References
    ----------
    Inverse of ``true_position``; plane geometry.

    Examples
    --------
    >>> round(apparent_position(0.15, 0.15, 0.0, 120.0)["apparent_hours"], 9)
    4.0
    """
    radius = number_between(radius_m, 0.001, GREATEST_M, "radius_m", "size_out_of_range")
    right = number_between(camera_right_m, -radius, radius, "camera_right_m", "camera_outside_bore")
    height = number_between(camera_height_m, 0.0, 2 * radius, "camera_height_m", "camera_outside_bore")
    true = number_between(true_deg, -360.0, 720.0, "true_deg", "angle_out_of_range")
    below = radius - height
    if right * right + below * below >= radius * radius:
        raise SurveyError("camera_outside_bore", "camera_height_m")
    across = radius * math.sin(math.radians(true)) - right
    up = radius * math.cos(math.radians(true)) + below
    view = _turn(math.degrees(math.atan2(across, up)), 360.0)
    distance = math.sqrt(across * across + up * up)
    return {"view_deg": view, "apparent_hours": view / 30, "wall_distance_m": distance}


def clock_span(hour_from: int, hour_to: int) -> int:
    """Return how many hours of the wall an observation covers, going clockwise.

    Returns
    -------
    int, 1 to 12
        Hours covered [h]. Equal references are the whole circumference, 12; an observation at one
        place has no second reference and does not come here.

    Raises
    ------
    SurveyError
        ``clock_out_of_range`` naming the reference that is not a whole number from 1 to 12.

    References
    ----------
    EN 13508-2, 8.1.5 (clause from its list of contents); equal references: own rule, stated here.

    Examples
    --------
    >>> clock_span(10, 2)
    4
    >>> clock_span(7, 7)
    12
    """
    return (_hour(hour_to, "hour_to") - _hour(hour_from, "hour_from")) % 12 or 12


def mirror_clock(hour_from: int, hour_to: int | None) -> dict[str, int | None]:
    """Return clock references as seen from the other end of the run.

    Parameters
    ----------
    hour_to : int, 1 to 12, or None
        Second reference; None for an observation at one place.

    Returns
    -------
    dict
        ``hour_from`` and ``hour_to`` [h]: left and right change places, and so do the two references,
        because the span still runs clockwise.

    Raises
    ------
    SurveyError
        ``clock_out_of_range`` naming the reference that is not a whole number from 1 to 12.

    Examples
    --------
    >>> mirror_clock(1, 4)
    {'hour_from': 8, 'hour_to': 11}
    """
    first = 12 - _hour(hour_from, "hour_from") or 12
    if hour_to is None:
        return {"hour_from": first, "hour_to": None}
    return {"hour_from": 12 - _hour(hour_to, "hour_to") or 12, "hour_to": first}


def _hour(value: int, field: str) -> int:
    hour = number_between(value, 1, 12, field, "clock_out_of_range")
    if hour != math.floor(hour):
        raise SurveyError("clock_out_of_range", field)
    return int(hour)


def _turn(angle: float, whole: float) -> float:
    """The angle within one turn, 0 up to, but not including, the whole."""
    within = angle - whole * math.floor(angle / whole)
    return 0.0 if within >= whole else within
