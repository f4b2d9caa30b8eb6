"""Lines on the ellipsoid and norths, against geographiclib, pyproj and published model values."""

import datetime
import math

import pytest
from geographiclib.geodesic import Geodesic
from hypothesis import given, settings
from hypothesis import strategies as st
from pyproj import Proj

from webapp.declination import declination
from webapp.errors import AppError
from webapp.survey.errors import SurveyError
from webapp.survey.plan import geodesy, north

some = settings(max_examples=500, deadline=None)
latitudes, longitudes, turns = st.floats(-90, 90), st.floats(-180, 180), st.floats(0, 360)
WGS = Geodesic.WGS84


def apart_deg(a, b):
    return abs((a - b + 180) % 360 - 180)


@some
@given(latitudes, longitudes, turns, st.one_of(st.floats(0, 2000), st.floats(0, 2e7)))
def test_direct_is_geographiclib(lat, lon, azimuth, distance):
    ours, theirs = geodesy.direct(lat, lon, azimuth, distance), WGS.Direct(lat, lon, azimuth, distance)
    assert WGS.Inverse(theirs["lat2"], theirs["lon2"], ours.lat_deg, ours.lon_deg)["s12"] < 1e-6


@some
@given(latitudes, longitudes, turns, st.one_of(st.floats(0.01, 2000), st.floats(1, 1e6)))
def test_inverse_is_geographiclib_up_to_1000_km(lat, lon, azimuth, distance):
    there = WGS.Direct(lat, lon, azimuth, distance)
    ours = geodesy.inverse(lat, lon, there["lat2"], there["lon2"])
    theirs = WGS.Inverse(lat, lon, there["lat2"], there["lon2"])
    assert ours.distance_m == pytest.approx(theirs["s12"], abs=1e-6)
    if (
        abs(lat) < 89.9 and abs(there["lat2"]) < 89.9
    ):  # a bearing at a pole hangs on the longitude's last digit
        across = math.radians(apart_deg(ours.azimuth_from_deg, theirs["azi1"])) * ours.distance_m
        assert across < 1e-6


@some
@given(st.floats(-80, 80), longitudes, st.floats(-700_000, 700_000), st.floats(-700_000, 700_000))
def test_local_and_back(lat, lon, e, n):
    place = geodesy.geodetic_of_local(lat, lon, e, n)
    back = geodesy.local_of_geodetic(lat, lon, place.lat_deg, place.lon_deg)
    assert (back.e_m, back.n_m) == pytest.approx((e, n), abs=1e-5)


def test_local_is_the_azimuthal_equidistant_projection():
    flat = Proj(proj="aeqd", lat_0=52, lon_0=-1.5, ellps="WGS84")
    ours = geodesy.local_of_geodetic(52.0, -1.5, 52.004, -1.492)
    assert ours == pytest.approx(flat(-1.492, 52.004), abs=1e-6)


def test_opposite_places_are_refused_by_name():
    with pytest.raises(SurveyError) as caught:
        geodesy.inverse(0.0, 0.0, 0.3, 179.8)
    assert caught.value.code == "geodesic_not_settled"


@pytest.mark.parametrize(
    ("args", "code"),
    [
        ((91, 0, 0, 0), "latitude_out_of_range"),
        ((0, 361, 0, 0), "longitude_out_of_range"),
        ((0, 0, math.nan, 0), "number_not_finite"),
        ((0, 0, 0, -1), "distance_out_of_range"),
        ((0, 0, 0, 2.1e7), "distance_out_of_range"),
    ],
)
def test_refusals(args, code):
    with pytest.raises(SurveyError) as caught:
        geodesy.direct(*args)
    assert caught.value.code == code


PROJECTIONS = {e: Proj(proj="tmerc", lon_0=0, ellps=e) for e in ("WGS84", "airy")}


@some
@given(st.floats(-89, 89), st.floats(-6, 6), st.sampled_from(sorted(PROJECTIONS)))
def test_convergence_is_pyproj(lat, lon, ellipsoid):
    theirs = PROJECTIONS[ellipsoid].get_factors(lon, lat).meridian_convergence
    assert north.grid_convergence(lat, lon, 0.0) == pytest.approx(theirs, abs=1e-6)


def test_convergence_at_and_near_the_poles():
    assert north.grid_convergence(90, 10, 0) == pytest.approx(10)
    assert north.grid_convergence(-90, 10, 0) == pytest.approx(-10)
    assert north.grid_convergence(89.9999, 10, 0) == pytest.approx(10, abs=1e-3)
    assert north.grid_convergence(50, 179, -179) == pytest.approx(-north.grid_convergence(50, -177, -179))


@some
@given(turns, st.floats(-30, 30), st.floats(-5, 5))
def test_bearings_turn_there_and_back(bearing, dec, gamma):
    grid = north.turn_bearing(bearing, "magnetic", "grid", dec, gamma)
    assert apart_deg(grid, bearing + dec - gamma) < 1e-9
    assert apart_deg(north.turn_bearing(grid, "grid", "magnetic", dec, gamma), bearing) < 1e-9


def test_a_missing_declination_is_named():
    with pytest.raises(SurveyError) as caught:
        north.turn_bearing(10.0, "magnetic", "true", None, None)
    assert caught.value.code == "declination_missing"


@pytest.mark.parametrize(("lat", "lon", "wanted"), [(80, 0, 1.28), (0, 120, -0.16), (-80, 240, 68.78)])
def test_declination_is_that_of_the_model(lat, lon, wanted):
    """Test values of WMM2025 at sea level, 2025.0; longitudes east (from memory, two decimals)."""
    found = declination(lat, lon - 360 if lon > 180 else lon, datetime.date(2025, 1, 1))
    assert found.declination_deg == pytest.approx(wanted, abs=0.006)
    assert 0.2 < found.sd_deg < 2


@pytest.mark.parametrize(
    ("lat", "date", "code"),
    [
        (52, datetime.date(2030, 1, 1), "declination_date"),
        (52, datetime.date(2019, 12, 31), "declination_date"),
        (86, datetime.date(2026, 1, 1), "declination_place"),
        (math.nan, datetime.date(2026, 1, 1), "declination_place"),
    ],
)
def test_declination_outside_the_model_is_refused(lat, date, code):
    with pytest.raises(AppError) as caught:
        declination(lat, -120.0, date)
    assert caught.value.code == code
