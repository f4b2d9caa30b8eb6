"""Security headers, one by one, on every kind of response."""

import re

import pytest

EXPECTED = {
    "Content-Security-Policy": "default-src 'none'; script-src 'self'; style-src 'self'; "
    "img-src 'self' blob: data:; "
    "font-src 'self'; connect-src 'self'; manifest-src 'self'; worker-src 'self'; form-action 'self'; "
    "base-uri 'none'; frame-ancestors 'none'; object-src 'none'; require-trusted-types-for 'script'; "
    "trusted-types sw-url",
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Permissions-Policy": "camera=(self), geolocation=(self), screen-wake-lock=(self), "
    "microphone=(), payment=()",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}
PATHS = [
    "/",
    "/healthz",
    "/office",
    "/sw.js",
    "/static/css/base.css",
    "/api/jobs",
    "/api/nothing",
    "/nothing",
]


@pytest.mark.parametrize("path", PATHS)
@pytest.mark.parametrize("name", EXPECTED)
def test_header_on_every_response(server, path, name):
    assert server.client.get(path).headers[name] == EXPECTED[name]


def test_a_part_of_the_app_carries_what_counts_there_and_no_more(server):
    (path,) = re.findall(r'id="script" defer src="([^"]+)"', server.client.get("/").text)
    found = server.client.get(path).headers
    assert {name for name in EXPECTED if name in found} == {
        "X-Content-Type-Options",
        "Cross-Origin-Resource-Policy",
    }
    lost = server.client.get(path.replace("-", "-0"))
    for name, value in EXPECTED.items():
        assert lost.status_code == 404 and lost.headers[name] == value


def test_headers_on_refusals_and_crashes(server, monkeypatch):
    from webapp.api import sync as sync_api

    monkeypatch.setattr(sync_api, "exchange", lambda *_: 1 / 0)
    for answer in (
        server.client.post("/api/sync", json={}),
        server.client.post("/api/sync", data="x", content_type="text/plain"),
        server.client.get("/", headers={"Host": "elsewhere.example"}),
    ):
        assert answer.status_code >= 400
        for name, value in EXPECTED.items():
            assert answer.headers[name] == value


def test_https_is_remembered_only_over_https(server):
    assert "Strict-Transport-Security" not in server.client.get("/").headers
    over_tls = server.client.get("/", base_url="https://localhost")
    assert over_tls.headers["Strict-Transport-Security"] == "max-age=31536000; includeSubDomains"


@pytest.mark.parametrize(
    ("path", "value"),
    [
        ("/", "no-cache"),
        ("/sw.js", "no-cache"),
        ("/static/js/main.js", "no-cache"),
        ("/static/icons/mark.svg", "public, max-age=86400"),
        ("/fields.json", "no-cache"),
        ("/office", "no-cache"),
        ("/api/jobs", "no-store"),
        ("/api/nothing", "no-store"),
    ],
)
def test_how_long_it_may_be_kept(server, path, value):
    assert server.client.get(path).headers["Cache-Control"] == value


def test_no_cookie_is_set(server):
    for path in PATHS:
        assert "Set-Cookie" not in server.client.get(path).headers
