"""The three norths: magnetic, true and grid, and the convergence of a transverse Mercator grid."""

import math

from ..errors import SurveyError
from ..numbers.finite import finite, spread

FLATTENING = 1 / 298.257223563
ECCENTRICITY = math.sqrt(FLATTENING * (2 - FLATTENING))
N = FLATTENING / (2 - FLATTENING)
N2 = N * N
KRUEGER = (
    N / 2 - 2 * N2 / 3 + 5 * N * N2 / 16 + 41 * N2 * N2 / 180,
    13 * N2 / 48 - 3 * N * N2 / 5 + 557 * N2 * N2 / 1440,
    61 * N * N2 / 240 - 103 * N2 * N2 / 140,
    49561 * N2 * N2 / 161280,
)
WIDEST_DEG = 45.0
NORTHS = ("magnetic", "true", "grid")


def grid_convergence(lat_deg: float, lon_deg: float, central_meridian_deg: float) -> float:
    """Return the angle from true north to the north of a transverse Mercator grid.

    Parameters
    ----------
    lat_deg : float
        Latitude [deg], -90 to 90.
    lon_deg : float
        Longitude [deg].
    central_meridian_deg : float
        Central meridian of the projection [deg].

    Returns
    -------
    float
        Convergence [deg], clockwise positive: in the northern hemisphere positive east of the central
        meridian.

    Raises
    ------
    SurveyError
        ``latitude_out_of_range``; ``too_far_from_meridian`` beyond 45 degrees of longitude from the central
        meridian.

    Notes
    -----
    On WGS 84, to 1e-8 degrees within 45 degrees of the meridian. On another ellipsoid of the
    earth the value differs by less than 1e-6 degrees within 6 degrees of the meridian.

    References
    ----------
    Krueger's series: Karney, Transverse Mercator with an accuracy of a few nanometers, J. Geodesy 85
    (2011), eq. 7 to 9, 23 to 27 and 35, doi 10.1007/s00190-011-0445-3.

    Examples
    --------
    >>> round(grid_convergence(54.0, -1.5, -3.0), 4)
    1.2136
    """
    lat, lon = finite(lat_deg, "lat_deg"), finite(lon_deg, "lon_deg")
    if not -90 <= lat <= 90:
        raise SurveyError("latitude_out_of_range", "lat_deg")
    east = lon - finite(central_meridian_deg, "central_meridian_deg")
    east = east - 360 * math.floor((east + 180) / 360)
    if not -WIDEST_DEG <= east <= WIDEST_DEG:
        raise SurveyError("too_far_from_meridian", "lon_deg")
    phi, lam = math.radians(lat), math.radians(east)
    sin, cos = math.sin(phi), math.cos(phi)
    if cos < 1e-12:  # at the pole the meridians turn by just their longitude
        return east if lat > 0 else -east
    tau = sin / cos
    sigma = math.sinh(ECCENTRICITY * math.atanh(ECCENTRICITY * sin))
    conformal = tau * math.sqrt(1 + sigma * sigma) - sigma * math.sqrt(1 + tau * tau)
    wide = math.sqrt(conformal * conformal + math.cos(lam) * math.cos(lam))
    xi, eta = math.atan2(conformal, math.cos(lam)), math.asinh(math.sin(lam) / wide)
    p, q = 1.0, 0.0
    for place, a in enumerate(KRUEGER):
        double = 2 * (place + 1)
        p += double * a * math.cos(double * xi) * math.cosh(double * eta)
        q += double * a * math.sin(double * xi) * math.sinh(double * eta)
    sphere = math.atan(conformal / math.sqrt(1 + conformal * conformal) * math.tan(lam))
    return math.degrees(sphere + math.atan2(q, p))


def turn_bearing(
    bearing_deg: float,
    from_north: str,
    to_north: str,
    declination_deg: float | None,
    convergence_deg: float | None,
) -> float:
    """Return a bearing referred to another north.

    Parameters
    ----------
    bearing_deg : float
        Bearing [deg], clockwise from ``from_north``.
    from_north, to_north : str
        ``magnetic``, ``true`` or ``grid``.
    declination_deg : float or None
        From true to magnetic north [deg], east positive; needed when either is magnetic.
    convergence_deg : float or None
        From true to grid north [deg], clockwise positive; needed when either is grid.

    Returns
    -------
    float
        Bearing [deg] from ``to_north``, 0 or more and below 360.

    Raises
    ------
    SurveyError
        ``north_unknown`` for another word; ``declination_missing``, ``convergence_missing``.

    References
    ----------
    true = magnetic + declination; grid = true - convergence: any surveying text.

    Examples
    --------
    >>> turn_bearing(358.0, "magnetic", "grid", 3.0, -1.0)
    2.0
    """
    bearing = finite(bearing_deg, "bearing_deg")
    turned = bearing
    if from_north not in NORTHS:
        raise SurveyError("north_unknown", "from_north")
    if to_north not in NORTHS:
        raise SurveyError("north_unknown", "to_north")
    if from_north != to_north:
        turned += _east_of_true(from_north, declination_deg, convergence_deg)
        turned -= _east_of_true(to_north, declination_deg, convergence_deg)
    turned = turned - 360 * math.floor(turned / 360)
    return turned if 0 <= turned < 360 else 0.0  # a trifle west of north is north


def bearing_sd_deg(sd_deg: float, declination_sd_deg: float) -> float:
    """Return the standard deviation of a bearing turned by an uncertain declination.

    Parameters
    ----------
    sd_deg : float
        Of the bearing as read [deg].
    declination_sd_deg : float
        Of the declination [deg]; 0 when no declination was needed.

    Returns
    -------
    float
        Standard deviation [deg].

    Raises
    ------
    SurveyError
        ``sd_negative``.

    References
    ----------
    Variances of independent errors add: any text on errors.

    Examples
    --------
    >>> bearing_sd_deg(3.0, 4.0)
    5.0
    """
    own, model = spread(sd_deg, "sd_deg"), spread(declination_sd_deg, "declination_sd_deg")
    return math.sqrt(own * own + model * model)


def _east_of_true(north: str, declination_deg: float | None, convergence_deg: float | None) -> float:
    if north == "magnetic":
        if declination_deg is None:
            raise SurveyError("declination_missing", "declination_deg")
        return finite(declination_deg, "declination_deg")
    if north == "grid":
        if convergence_deg is None:
            raise SurveyError("convergence_missing", "convergence_deg")
        return finite(convergence_deg, "convergence_deg")
    return 0.0
