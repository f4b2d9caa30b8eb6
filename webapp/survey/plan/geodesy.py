"""Lines on the ellipsoid WGS 84: from a place by bearing and distance, and back; local east and north."""

import math
from typing import NamedTuple

from ..errors import SurveyError
from ..numbers.finite import finite
from .geodesic_series import arc_series, between, distance_series, expansion, longitude_series, wave

SEMI_MAJOR_M = 6378137.0
FLATTENING = 1 / 298.257223563
FARTHEST_M = 20_000_000.0
TRIES = 100
SETTLED = 1e-15  # change of the longitude on the sphere, in radians

KEEP = 1 - FLATTENING
SEMI_MINOR_M = SEMI_MAJOR_M * KEEP
THIRD = FLATTENING / (2 - FLATTENING)
SECOND_ECC2 = FLATTENING * (2 - FLATTENING) / (KEEP * KEEP)


class Place(NamedTuple):
    """Where a line ends: latitude, longitude (-180 to 180) and bearing there (0 to 360) [deg]."""

    lat_deg: float
    lon_deg: float
    azimuth_deg: float


class Line(NamedTuple):
    """Length [m] of the shortest line and its true bearing at both ends [deg], 0 to 360."""

    distance_m: float
    azimuth_from_deg: float
    azimuth_to_deg: float


class Local(NamedTuple):
    """East and north of an origin [m]."""

    e_m: float
    n_m: float


def direct(lat_deg: float, lon_deg: float, azimuth_deg: float, distance_m: float) -> Place:
    """Return where a line of a given bearing and length ends, on WGS 84.

    Parameters
    ----------
    lat_deg : float
        Latitude of the start [deg], -90 to 90.
    lon_deg : float
        Longitude of the start [deg], -360 to 360.
    azimuth_deg : float
        True bearing at the start [deg], clockwise from north.
    distance_m : float
        Length of the line [m], 0 to 20,000,000.

    Returns
    -------
    Place
        Latitude, longitude and bearing at the end [deg]. good to a hundredth of a millimetre.

    Raises
    ------
    SurveyError
        ``latitude_out_of_range``, ``longitude_out_of_range``, ``distance_out_of_range``.

    References
    ----------
    Karney, Algorithms for geodesics, J. Geodesy 87 (2013), doi 10.1007/s00190-012-0578-z.

    Examples
    --------
    >>> round(direct(0.0, 0.0, 90.0, 111319.490793).lon_deg, 9)
    1.0
    """
    lat, lon = _checked(lat_deg, lon_deg, "")
    alpha = math.radians(finite(azimuth_deg, "azimuth_deg"))
    if not 0 <= finite(distance_m, "distance_m") <= FARTHEST_M:
        raise SurveyError("distance_out_of_range", "distance_m")
    sin_u, cos_u = _reduced(lat)
    sin_a, cos_a = math.sin(alpha), math.cos(alpha)
    sin_0 = sin_a * cos_u
    cos_0 = math.sqrt(cos_a * cos_a + sin_a * sin_a * sin_u * sin_u)
    first = math.atan2(sin_u, cos_a * cos_u)
    eps = expansion(SECOND_ECC2 * cos_0 * cos_0)
    factor, coefficients = distance_series(eps)
    tau = first + wave(coefficients, first)
    step = distance_m / (SEMI_MINOR_M * factor)
    arc = between(arc_series(eps), tau, tau + step, step)
    return _end(lon, (sin_u, cos_u), (sin_a, cos_a, sin_0), (first, arc, eps))


def inverse(from_lat_deg: float, from_lon_deg: float, to_lat_deg: float, to_lon_deg: float) -> Line:
    """Return the shortest line between two places on WGS 84.

    Parameters
    ----------
    from_lat_deg, from_lon_deg, to_lat_deg, to_lon_deg : float
        Latitudes, -90 to 90, and longitudes, -360 to 360 [deg].

    Returns
    -------
    Line
        Distance [m] and true bearings [deg]; both bearings are 0 when the places are the same. good to a
        micrometre up to 1,000 km.

    Raises
    ------
    SurveyError
        ``geodesic_not_settled`` where the places lie nearly opposite each other on the earth (beyond some
        19,900 km); ``latitude_out_of_range``, ``longitude_out_of_range``.

    Notes
    -----
    Meant for lines up to 1,000 km. Longer ones are sound as long as the iteration settles.

    References
    ----------
    Vincenty, Survey Review 23 (1975), the iteration; Karney (2013), the series.

    Examples
    --------
    >>> round(inverse(0.0, 0.0, 0.0, 1.0).distance_m, 6)
    111319.490793
    """
    lat_1, lon_1 = _checked(from_lat_deg, from_lon_deg, "from_")
    lat_2, lon_2 = _checked(to_lat_deg, to_lon_deg, "to_")
    apart = math.radians(_half_turn(lon_2 - lon_1))
    if lat_1 == lat_2 and (apart == 0 or abs(lat_1) == 90):
        return Line(0.0, 0.0, 0.0)
    one, two = _reduced(lat_1), _reduced(lat_2)
    # the sine of the difference of the reduced latitudes, exact for places close together
    lean = math.sin(math.radians(lat_2 - lat_1)) * KEEP * _scale(lat_1) * _scale(lat_2)
    omega = apart
    for _ in range(TRIES):
        line = _on_sphere(one, two, lean, omega)
        first, arc, sin_0, eps = line[2:]
        better = apart + FLATTENING * sin_0 * between(longitude_series(eps, THIRD), first, first + arc, arc)
        settled = abs(better - omega) <= SETTLED * (1 + abs(apart))
        omega = better
        if abs(omega) > math.pi:
            break
        if settled:
            line = _on_sphere(one, two, lean, omega)
            first, arc, sin_0, eps = line[2:]
            length = SEMI_MINOR_M * between(distance_series(eps), first, first + arc, arc)
            return Line(length, _bearing(*line[0]), _bearing(*line[1]))
    raise SurveyError("geodesic_not_settled", "to_lon_deg")


def geodetic_of_local(lat_deg: float, lon_deg: float, e_m: float, n_m: float) -> Place:
    """Return the place so far east and north of an origin, by the line of that bearing and length.

    Parameters
    ----------
    lat_deg : float
        Latitude of the origin [deg].
    lon_deg : float
        Longitude of the origin [deg].
    e_m, n_m : float
        East and true north of the origin [m]; together up to 1,000,000.

    Returns
    -------
    Place
        Latitude and longitude, and the bearing there away from the origin [deg].

    Raises
    ------
    SurveyError
        ``distance_out_of_range`` beyond 1,000 km; the codes of ``direct``.

    Notes
    -----
    Distances from the origin are exact; between two other places 1 km off they are short by less
    than a tenth of a millimetre.

    References
    ----------
    Azimuthal equidistant projection: Snyder, Map projections, USGS PP 1395 (1987), chapter 25.

    Examples
    --------
    >>> geodetic_of_local(50.0, 0.0, 0.0, 0.0).lat_deg
    50.0
    """
    e, n = finite(e_m, "e_m"), finite(n_m, "n_m")
    distance = math.sqrt(e * e + n * n)
    if distance > 1_000_000:
        raise SurveyError("distance_out_of_range", "e_m")
    if distance == 0:
        return Place(*_checked(lat_deg, lon_deg, ""), 0.0)
    return direct(lat_deg, lon_deg, math.degrees(math.atan2(e, n)), distance)


def local_of_geodetic(lat_deg: float, lon_deg: float, to_lat_deg: float, to_lon_deg: float) -> Local:
    """Return how far east and true north of an origin a place lies.

    Parameters
    ----------
    lat_deg : float
        Latitude of the origin [deg].
    lon_deg : float
        Longitude of the origin [deg].
    to_lat_deg : float
        Latitude of the place [deg].
    to_lon_deg : float
        Longitude of the place [deg].

    Returns
    -------
    Local
        East and north [m], such that ``geodetic_of_local`` gives the place again.

    References
    ----------
    Azimuthal equidistant projection: Snyder, Map projections, USGS PP 1395 (1987), chapter 25.

    Examples
    --------
    >>> round(local_of_geodetic(0.0, 0.0, 0.0, 1.0).e_m, 6)
    111319.490793
    """
    line = inverse(lat_deg, lon_deg, to_lat_deg, to_lon_deg)
    alpha = math.radians(line.azimuth_from_deg)
    return Local(line.distance_m * math.sin(alpha), line.distance_m * math.cos(alpha))


def _checked(lat_deg: float, lon_deg: float, which: str) -> tuple[float, float]:
    lat, lon = finite(lat_deg, f"{which}lat_deg"), finite(lon_deg, f"{which}lon_deg")
    if not -90 <= lat <= 90:
        raise SurveyError("latitude_out_of_range", f"{which}lat_deg")
    if not -360 <= lon <= 360:
        raise SurveyError("longitude_out_of_range", f"{which}lon_deg")
    return lat, lon


def _scale(lat_deg: float) -> float:
    """Cosine of the reduced latitude over that of the latitude."""
    sin, cos = math.sin(math.radians(lat_deg)), math.cos(math.radians(lat_deg))
    return 1 / math.sqrt(cos * cos + KEEP * KEEP * sin * sin)


def _reduced(lat_deg: float) -> tuple[float, float]:
    """Sine and cosine of the reduced latitude."""
    scale = _scale(lat_deg)
    return KEEP * math.sin(math.radians(lat_deg)) * scale, math.cos(math.radians(lat_deg)) * scale


def _on_sphere(
    one: tuple[float, float], two: tuple[float, float], lean: float, omega: float
) -> tuple[tuple[float, float], tuple[float, float], float, float, float, float]:
    """East and north parts at both ends, arc to the start, arc, sine at the equator, expansion."""
    (sin_1, cos_1), (sin_2, cos_2) = one, two
    half = math.sin(omega / 2)
    turn = 2 * half * half
    east_1, north_1 = cos_2 * math.sin(omega), lean + sin_1 * cos_2 * turn
    east_2, north_2 = cos_1 * math.sin(omega), lean - cos_1 * sin_2 * turn
    sin_arc = math.sqrt(east_1 * east_1 + north_1 * north_1)
    arc = math.atan2(sin_arc, sin_1 * sin_2 + cos_1 * cos_2 * math.cos(omega))
    sin_0 = cos_1 * east_1 / sin_arc if sin_arc > 0 else 0.0
    eps = expansion(SECOND_ECC2 * max(0.0, 1 - sin_0 * sin_0))
    first = math.atan2(sin_1 * sin_arc, cos_1 * north_1)
    return (east_1, north_1), (east_2, north_2), first, arc, sin_0, eps


def _end(
    lon_deg: float,
    reduced: tuple[float, float],
    bearing: tuple[float, float, float],
    along: tuple[float, float, float],
) -> Place:
    """Place at an arc from the start."""
    (sin_u, cos_u), (sin_a, cos_a, sin_0), (first, arc, eps) = reduced, bearing, along
    sin, cos = math.sin(arc), math.cos(arc)
    north = cos_u * cos * cos_a - sin_u * sin
    flat = KEEP * math.sqrt(sin_0 * sin_0 + north * north)
    lat = math.degrees(math.atan2(sin_u * cos + cos_u * sin * cos_a, flat))
    omega = math.atan2(sin * sin_a, cos_u * cos - sin_u * sin * cos_a)
    turn = omega - FLATTENING * sin_0 * between(longitude_series(eps, THIRD), first, first + arc, arc)
    return Place(lat, _half_turn(lon_deg + math.degrees(turn)), _bearing(sin_0, north))


def _bearing(east: float, north: float) -> float:
    deg = math.degrees(math.atan2(east, north))
    deg = deg + 360 if deg < 0 else deg
    return 0.0 if deg >= 360 else deg


def _half_turn(deg: float) -> float:
    """The same direction between -180 and 180."""
    while deg > 180:
        deg -= 360
    while deg < -180:
        deg += 360
    return deg
