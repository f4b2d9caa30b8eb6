"""GET /api/declination: the value of the model, and every refusal by name."""

import pytest


def ask(server, **query):
    return server.client.get("/api/declination", query_string=query)


def test_a_published_value(server):
    """WMM2025 test value (NOAA): at 80 N, 0 E, height 0, on 2025-01-01 the declination is 1.28 degrees."""
    found = ask(server, lat_deg=80, lon_deg=0, on="2025-01-01")
    assert found.status_code == 200
    assert found.json["declination_deg"] == pytest.approx(1.28, abs=0.01)
    assert found.json["model"] == "WMM-2025" and 0.2 < found.json["sd_deg"] < 2
    assert (found.json["valid_from"], found.json["valid_to"]) == ("2025-01-01", "2029-12-31")


def test_the_sample_job_has_the_value_of_its_place(server):
    found = ask(server, lat_deg=50.00012, lon_deg=-30.00034, on="2026-10-14").json
    assert found["declination_deg"] == pytest.approx(-10.0, abs=0.05)


@pytest.mark.parametrize(
    ("query", "code", "field"),
    [
        ({"lat_deg": 50, "lon_deg": 1, "on": "2031-01-01"}, "declination_date", None),
        ({"lat_deg": 50, "lon_deg": 1, "on": "2019-12-31"}, "declination_date", None),
        ({"lat_deg": 91, "lon_deg": 1, "on": "2026-01-01"}, "declination_place", "lat_deg"),
        ({"lat_deg": 50, "lon_deg": 181, "on": "2026-01-01"}, "declination_place", "lon_deg"),
        ({"lat_deg": "nan", "lon_deg": 1, "on": "2026-01-01"}, "declination_place", "lat_deg"),
        ({"lat_deg": "inf", "lon_deg": 1, "on": "2026-01-01"}, "declination_place", "lat_deg"),
        ({"lat_deg": 86, "lon_deg": 142, "on": "2026-01-01"}, "declination_place", None),
        ({"lon_deg": 1, "on": "2026-01-01"}, "request_malformed", "lat_deg"),
        ({"lat_deg": "north", "lon_deg": 1, "on": "2026-01-01"}, "request_malformed", "lat_deg"),
        ({"lat_deg": 50, "lon_deg": 1}, "request_malformed", "on"),
        ({"lat_deg": 50, "lon_deg": 1, "on": "20260101"}, "request_malformed", "on"),
        ({"lat_deg": 50, "lon_deg": 1, "on": "2026-02-30"}, "request_malformed", "on"),
    ],
)
def test_what_it_refuses(server, query, code, field):
    found = ask(server, **query)
    assert found.status_code == 422
    assert [(e["code"], e["field"]) for e in found.json["errors"]] == [(code, field)]
    assert len(found.json["errors"][0]["message"]) > 20
