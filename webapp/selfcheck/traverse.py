"""A traverse above ground, closed or from one known point to another: misclosure, the compass rule."""

import math
from collections.abc import Sequence
from typing import NamedTuple

from ..survey.errors import SurveyError
from ..survey.numbers.finite import finite

CLOSES_ONE_IN = 20  # a traverse further off than this does not end where it is said to


class Leg(NamedTuple):
    """North (latitude) and east (departure) of one leg [m]."""

    latitude_m: float
    departure_m: float


class Traverse(NamedTuple):
    """A traverse as measured and as adjusted; stations are those at the start of each leg [m].

    The misclosure is the sum of the legs less the way from the first point to the last, which is none for a
    closed traverse; ``precision_one_in`` is the total length over it, None when it closes exactly. The end is
    as adjusted [m].
    """

    latitude_m: list[float]
    departure_m: list[float]
    misclosure_latitude_m: float
    misclosure_departure_m: float
    linear_misclosure_m: float
    precision_one_in: float | None
    adjusted_latitude_m: list[float]
    adjusted_departure_m: list[float]
    adjusted_length_m: list[float]
    adjusted_azimuth_deg: list[float]
    northing_m: list[float]
    easting_m: list[float]
    end_northing_m: float
    end_easting_m: float


def dead_reckoning_leg(course_deg: float, distance_m: float) -> Leg:
    """Return how far north and east a leg goes.

    Parameters
    ----------
    course_deg : float
        Bearing [deg], clockwise from north.
    distance_m : float
        Length [m]; negative goes back.

    Returns
    -------
    Leg
        Latitude (north) and departure (east) [m].

    References
    ----------
    Any text on surveying or navigation (traverse table).

    Examples
    --------
    >>> round(dead_reckoning_leg(90.0, 5.0).departure_m, 9)
    5.0
    """
    course, distance = math.radians(finite(course_deg, "course_deg")), finite(distance_m, "distance_m")
    return Leg(distance * math.cos(course), distance * math.sin(course))


def traverse_bowditch(
    azimuth_deg: Sequence[float],
    length_m: Sequence[float],
    start_northing_m: float,
    start_easting_m: float,
    end_m: tuple[float, float] | None = None,
) -> Traverse:
    """Return a traverse adjusted by the compass rule.

    Parameters
    ----------
    azimuth_deg : sequence of float, length n >= 1
        Bearing of each leg [deg], clockwise from north.
    length_m : sequence of float, length n
        Length of each leg [m], above 0.
    start_northing_m, start_easting_m : float
        Where the first leg starts [m].
    end_m : tuple of float, optional
        Northing and easting of the known point where the last leg ends [m]; without it, the start: the
        traverse is closed.

    Returns
    -------
    Traverse
        As measured, misclosure, as adjusted.

    Raises
    ------
    SurveyError
        ``length_mismatch`` if the lists differ in length or are empty; ``length_not_positive`` with the
        index of the leg; ``number_not_finite`` and ``number_out_of_range``; ``traverse_not_closed`` if the
        misclosure is more than a twentieth of the length, which no traverse that ends there has.

    References
    ----------
    Compass rule (Bowditch): correction = - misclosure times leg over total length: any text on surveying.

    Examples
    --------
    >>> round(traverse_bowditch([0, 90, 180, 270], [10, 5, 10, 6], 0, 0).misclosure_departure_m, 9)
    -1.0
    """
    if not azimuth_deg or len(azimuth_deg) != len(length_m):
        raise SurveyError("length_mismatch", "length_m")
    legs = []
    for index, (azimuth, length) in enumerate(zip(azimuth_deg, length_m, strict=True)):
        finite(azimuth, "azimuth_deg", index)
        if finite(length, "length_m", index) <= 0:
            raise SurveyError("length_not_positive", "length_m", index)
        legs.append(dead_reckoning_leg(azimuth, length))
    north = east = total = 0.0
    for leg, length in zip(legs, length_m, strict=True):
        north, east, total = north + leg.latitude_m, east + leg.departure_m, total + length
    if end_m is not None:
        north -= finite(end_m[0], "end_northing_m") - finite(start_northing_m, "start_northing_m")
        east -= finite(end_m[1], "end_easting_m") - finite(start_easting_m, "start_easting_m")
    linear = math.sqrt(north * north + east * east)
    if linear * CLOSES_ONE_IN > total:
        raise SurveyError("traverse_not_closed", "length_m")
    adjusted = [
        Leg(leg.latitude_m - north * (length / total), leg.departure_m - east * (length / total))
        for leg, length in zip(legs, length_m, strict=True)
    ]
    northings, eastings = _stations(adjusted, start_northing_m, start_easting_m)
    return Traverse(
        [leg.latitude_m for leg in legs],
        [leg.departure_m for leg in legs],
        north,
        east,
        linear,
        total / linear if linear > 0 else None,
        [leg.latitude_m for leg in adjusted],
        [leg.departure_m for leg in adjusted],
        [_length(leg) for leg in adjusted],
        [_azimuth(leg) for leg in adjusted],
        northings[:-1],
        eastings[:-1],
        northings[-1],
        eastings[-1],
    )


def _stations(
    legs: Sequence[Leg], start_northing_m: float, start_easting_m: float
) -> tuple[list[float], list[float]]:
    n, e = finite(start_northing_m, "start_northing_m"), finite(start_easting_m, "start_easting_m")
    northings, eastings = [n], [e]
    for leg in legs:
        n, e = n + leg.latitude_m, e + leg.departure_m
        northings.append(n)
        eastings.append(e)
    return northings, eastings


def _length(leg: Leg) -> float:
    return math.sqrt(leg.latitude_m * leg.latitude_m + leg.departure_m * leg.departure_m)


def _azimuth(leg: Leg) -> float:
    deg = math.degrees(math.atan2(leg.departure_m, leg.latitude_m))
    deg = deg + 360 if deg < 0 else deg
    return 0.0 if deg >= 360 else deg
