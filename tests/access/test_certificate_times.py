"""Certificates at both ends of their life, by a clock that was ahead, jumps, or goes on for years."""

import ssl
from datetime import timedelta

import pytest
from cryptography import x509
from test_lan_certificates import Live

from webapp import timesource
from webapp.errors import AppError
from webapp.lan import certificates, serving, setup_page, validity

NAMES = ["localhost", "127.0.0.1", "192.168.7.9"]
REAL = timesource.now_utc


@pytest.fixture
def clock(monkeypatch):
    """Return a function that sets this machine's clock so far ahead, or behind, of the right time."""
    monkeypatch.setattr("webapp.lan.names.addresses", lambda: ["192.168.7.9"])

    def set_ahead(**span):
        monkeypatch.setattr(timesource, "now_utc", lambda: REAL() + timedelta(**span))

    return set_ahead


def leaf_of(folder):
    chain, _ = certificates.leaf(folder, NAMES)
    return x509.load_pem_x509_certificates(chain.read_bytes())[0]


def told(folder):
    return [(one.what, one.how) for one in validity.troubles(folder)]


def shakes_hands(folder, trusted_pem, at):
    """Say whether a phone that trusts an authority accepts the server's chain at a moment."""
    server = certificates.tls_context(*certificates.leaf(folder, NAMES))
    phone = ssl.create_default_context(cadata=trusted_pem)
    up, down = ssl.MemoryBIO(), ssl.MemoryBIO()
    here, there = phone.wrap_bio(down, up, server_hostname="localhost"), server.wrap_bio(up, down, True)
    assert abs((at - REAL()).total_seconds()) < 60, "the library has the machine's own clock"
    try:
        for _ in range(8):
            for side in (here, there):
                try:
                    side.do_handshake()
                except ssl.SSLWantReadError:
                    pass
    except ssl.SSLCertVerificationError:
        return False
    return there.version() is not None


@pytest.mark.parametrize("ahead_days", [2, 90, 396, 1500])
def test_a_certificate_of_a_start_with_the_clock_ahead_is_mended_by_the_next(tmp_path, clock, ahead_days):
    clock(days=0)
    own = certificates.authority(tmp_path)
    clock(days=ahead_days)
    ahead = leaf_of(tmp_path)
    clock(days=0)
    assert told(tmp_path) == [("server", "not_yet")]
    mended = leaf_of(tmp_path)
    assert mended.serial_number != ahead.serial_number and validity.holds(mended, REAL())
    assert told(tmp_path) == [] and leaf_of(tmp_path) == mended
    assert shakes_hands(tmp_path, own.certificate_pem, REAL()), "phones need nothing new"


def test_the_start_says_so_and_the_office_reads_nothing_that_is_mended(tmp_path, clock, server):
    clock(days=0)
    certificates.authority(tmp_path)
    clock(days=40)
    leaf_of(tmp_path)
    clock(days=0)
    lan = serving.look(tmp_path, None)
    _, _, said = serving.certify(server.app, lan, NAMES)
    assert [(one.what, one.how) for one in said] == [("server", "mended")]
    assert "A new one was made" in said[0].sentence and server.app.config["CERTIFICATE_TROUBLES"] == []
    assert serving.certify(server.app, lan, NAMES)[2] == [], "said once"


def test_an_authority_of_a_clock_ahead_is_told_and_one_command_renews_it(tmp_path, clock, server):
    clock(days=300)
    lan = serving.look(tmp_path, None)
    serving.certify(server.app, lan, NAMES)
    trusted = lan.authority.certificate_pem
    clock(days=0)
    assert told(tmp_path)[0] == ("authority", "not_yet")
    assert not shakes_hands(tmp_path, trusted, REAL()), "phones are shut out until that day"
    _, _, said = serving.certify(server.app, lan, NAMES)
    assert "fallbook certificate renew" in said[0].sentence and "setup page" in said[0].sentence
    for address in ("/office", "/office/phones"):
        assert "fallbook certificate renew" in server.client.get(address).text
    renewed = certificates.renew_authority(tmp_path)
    assert told(tmp_path) == [("server", "not_yet")]
    assert shakes_hands(tmp_path, renewed.certificate_pem, REAL())
    assert told(tmp_path) == []


def test_a_clock_that_is_behind_spoils_no_certificate_that_phones_accept(tmp_path, clock):
    """The authority does not hold by such a clock, so what was signed by a good one is left."""
    clock(days=0)
    own, good = certificates.authority(tmp_path), leaf_of(tmp_path)
    clock(days=-2000)
    assert leaf_of(tmp_path) == good and told(tmp_path)[0] == ("authority", "not_yet")
    assert certificates.authority(tmp_path).der == own.der
    clock(days=0)
    assert leaf_of(tmp_path) == good and told(tmp_path) == []


def test_an_authority_near_its_end_is_told_and_renewed_without_shutting_phones_out(tmp_path, clock):
    clock(days=-3500)
    before = certificates.authority(tmp_path)
    clock(days=0)
    assert told(tmp_path) == [("authority", "soon")]
    after = certificates.renew_authority(tmp_path)
    assert told(tmp_path) == [] and after.fingerprint != before.fingerprint
    for trusted in (before, after):
        assert shakes_hands(tmp_path, trusted.certificate_pem, REAL())


def test_both_ends_to_the_second(tmp_path, clock):
    clock(days=0)
    own = certificates.authority(tmp_path).certificate
    start, end = own.not_valid_before_utc, own.not_valid_after_utc
    second = timedelta(seconds=1)
    days = validity.AUTHORITY_WARN_DAYS
    expected = {
        start - second: "not_yet",
        start: None,
        end - timedelta(days=days) - second: None,
        end - timedelta(days=days): "soon",
        end: "soon",
        end + second: "expired",
    }
    assert {at: validity.state_of(own, at, days) for at in expected} == expected
    assert [validity.holds(own, at) for at in (start - second, start, end, end + second)] == [
        False,
        True,
        True,
        False,
    ]


def test_clock_jumps_while_it_runs(tmp_path, clock, server, monkeypatch):
    clock(days=0)
    lan = serving.look(tmp_path, None)
    serving.certify(server.app, lan, lan.names)
    live, output = Live(), []
    watch = serving.Watch(server.app, lan, live, output.append)
    watch()
    clock(days=380)  # ahead: a certificate that nobody accepts on the right day
    watch()
    clock(days=0)
    lines = []
    monkeypatch.setattr(
        serving.LOG, "warning", lambda event, extra: lines.append((event, extra["parts"]["how"]))
    )
    watch()
    watch()
    assert len(set(live.loaded)) == 3, "as it was, ahead, mended"
    assert len(output) == 1 and "A new one was made" in output[0]
    assert lines == [("certificate", "mended")], "in the log too, once"
    clock(days=5000)  # beyond the authority: said once, and nothing is made
    watch()
    watch()
    assert ["certificate renew" in one for one in output] == [False, True, False], output
    assert len(set(live.loaded)) == 3


def test_a_running_server_gives_out_an_authority_renewed_beside_it(tmp_path, clock, server):
    clock(days=-3500)
    lan = serving.look(tmp_path, None)
    serving.certify(server.app, lan, lan.names)
    clock(days=0)
    page = setup_page.make(lambda: lan.authority, "https://192.168.7.9:8443", ["localhost"]).test_client()
    watch = serving.Watch(server.app, lan, Live(), [].append)
    watch()
    first = page.get("/fallbook-certificate.crt").data
    renewed = certificates.renew_authority(tmp_path)
    watch()
    assert page.get("/fallbook-certificate.crt").data == renewed.der != first
    assert renewed.fingerprint in page.get("/").text
    assert server.app.config["CA_FINGERPRINT"] == renewed.fingerprint


def test_nothing_is_renewed_where_nothing_is(tmp_path):
    with pytest.raises(AppError) as caught:
        certificates.renew_authority(tmp_path)
    assert caught.value.code == "certificate_missing" and not list(tmp_path.iterdir())
