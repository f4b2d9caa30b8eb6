"""What `serve --lan` speaks: TLS 1.2 with forward secrecy and authenticated encryption, or TLS 1.3."""

import ssl
import warnings

import pytest

from webapp.lan import certificates

OLD = [ssl.TLSVersion.TLSv1, ssl.TLSVersion.TLSv1_1]


@pytest.fixture(scope="module")
def server(tmp_path_factory):
    return certificates.tls_context(*certificates.leaf(tmp_path_factory.mktemp("tls"), ["van.local"]))


def client(version=None, suites=None):
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    context.check_hostname, context.verify_mode = False, ssl.CERT_NONE
    context.set_ciphers(suites or "ALL:@SECLEVEL=0")
    if version:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            context.minimum_version = ssl.TLSVersion.MINIMUM_SUPPORTED
            context.maximum_version = version
    return context


def spoken(server, client):
    """Return version and suite that both agree on; SSLError where they do not."""
    up, down = ssl.MemoryBIO(), ssl.MemoryBIO()
    here = client.wrap_bio(down, up)
    there = server.wrap_bio(up, down, server_side=True)
    done = set()
    for _ in range(10):
        for side in (here, there):
            try:
                side.do_handshake()
                done.add(side)
            except ssl.SSLWantReadError:
                pass
    assert len(done) == 2
    return there.version(), there.cipher()[0]


def test_a_browser_of_today_gets_tls_1_3(server):
    assert spoken(server, client())[0] == "TLSv1.3"


@pytest.mark.parametrize("version", OLD)
def test_older_versions_are_refused(server, version):
    with pytest.raises(ssl.SSLError):
        spoken(server, client(version))


@pytest.mark.parametrize(
    "suites", ["AES128-SHA", "AES256-GCM-SHA384", "ECDHE+AES:!AESGCM", "DHE", "3DES", "NULL"]
)
def test_a_suite_without_forward_secrecy_or_authentication_is_refused(server, suites):
    try:
        old = client(ssl.TLSVersion.TLSv1_2, f"{suites}:@SECLEVEL=0")
    except ssl.SSLError:
        return  # this machine's library knows no such suite any more
    with pytest.raises(ssl.SSLError):
        spoken(server, old)


@pytest.mark.parametrize("suite", ["ECDHE+AESGCM", "ECDHE+CHACHA20"])
def test_the_suites_of_tls_1_2(server, suite):
    version, name = spoken(server, client(ssl.TLSVersion.TLSv1_2, suite))
    assert version == "TLSv1.2" and name.startswith("ECDHE-") and ("GCM" in name or "CHACHA20" in name)


def test_nothing_is_renegotiated_or_compressed(server):
    assert server.options & ssl.OP_NO_RENEGOTIATION and server.options & ssl.OP_NO_COMPRESSION
