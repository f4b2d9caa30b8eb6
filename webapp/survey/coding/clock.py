"""Clock positions: true for a camera off the axis.

Angles go clockwise from straight up as seen in the direction of survey; an hour is 30 degrees.
"""

import math

from ..errors import SurveyError
from ..numbers.checks import number_between
from ..section.bore import MAX_M


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
    radius = number_between(radius_m, 0.001, MAX_M, "radius_m", "size_out_of_range")
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


def _turn(angle: float, whole: float) -> float:
    """The angle within one turn, 0 up to, but not including, the whole."""
    within = angle - whole * math.floor(angle / whole)
    return 0.0 if within >= whole else within
