"""The names and the certificate of ``serve --lan``, while the network and the disk change."""

import errno
import socket

import pytest
from cryptography import x509

from webapp.errors import AppError
from webapp.lan import certificates, names, serving

NAME = "fieldbox.local"


def test_the_certificate_is_kept_renewed_and_limited(tmp_path, monkeypatch):
    """Without a server: the same names the same certificate; other names, or a month left, another one."""
    from datetime import timedelta

    from webapp import timesource

    called = ["localhost", "127.0.0.1", "192.168.7.9", "fieldbox.local", "8.8.8.8", "book.example"]
    own = certificates.authority(tmp_path)
    chain, _ = certificates.leaf(tmp_path, called)
    first = chain.read_bytes()
    assert certificates.leaf(tmp_path, called)[0].read_bytes() == first
    found = x509.load_pem_x509_certificates(first)[0].extensions.get_extension_for_class(
        x509.SubjectAlternativeName
    )
    assert "8.8.8.8" not in str(found) and "book.example" not in str(found) and "192.168.7.9" in str(found)
    second = certificates.leaf(tmp_path, [*called, "10.0.0.5"])[0].read_bytes()
    assert second != first
    real = timesource.now_utc
    monkeypatch.setattr(timesource, "now_utc", lambda: real() + timedelta(days=370))
    third = certificates.leaf(tmp_path, [*called, "10.0.0.5"])[0].read_bytes()
    assert third != second
    assert certificates.authority(tmp_path).fingerprint == own.fingerprint, "phones trust it for ten years"


class Live:
    """What the watch needs of a running relay."""

    def __init__(self):
        self.context, self.loaded = self, []

    def load_cert_chain(self, chain, key):
        self.loaded.append(x509.load_pem_x509_certificates(chain.read_bytes())[0].serial_number)


def test_while_it_runs_the_certificate_follows_the_network(tmp_path, monkeypatch, server):
    here = ["192.168.7.9"]
    monkeypatch.setattr("webapp.lan.names.addresses", lambda: list(here))
    lan = serving.look(tmp_path, None)
    assert lan.name == "192.168.7.9" and "192.168.7.9" in lan.names
    certificates.leaf(tmp_path, lan.names)
    live, output = Live(), []
    watch = serving.Watch(server.app, lan, live, output.append)
    watch()
    watch()
    assert len(set(live.loaded)) == 1 and output == [], "nothing changed, nothing is made anew"
    here.append("10.0.0.5")
    watch()
    assert len(set(live.loaded)) == 2 and "10.0.0.5" in server.app.config["HOST_NAMES"] and output == []
    here.remove("192.168.7.9")
    watch()
    (sentence,) = output
    assert "not at 192.168.7.9 any more" in sentence and "10.0.0.5" in sentence
    watch()
    assert len(output) == 1, "said once"


def test_a_disk_that_fills_up_takes_neither_the_server_nor_its_next_start(tmp_path, monkeypatch, server):
    here = ["192.168.7.9"]
    monkeypatch.setattr("webapp.lan.names.addresses", lambda: list(here))
    lan = serving.look(tmp_path, None)
    certificates.leaf(tmp_path, lan.names)
    output, write = [], certificates.write_file

    def full(path, data, mode):
        if path.name == "server.pem":
            raise OSError(errno.ENOSPC, "No space left on device")
        write(path, data, mode)

    monkeypatch.setattr(certificates, "write_file", full)
    watch = serving.Watch(server.app, lan, Live(), output.append)
    here.append("10.0.0.5")
    watch()
    watch()
    assert len(output) == 1 and "No space left" in output[0], "said once, and the server goes on"
    monkeypatch.setattr(certificates, "write_file", write)
    here.remove("10.0.0.5")  # the chain that is there is for these names, but not of the key that is there
    certificates.tls_context(*certificates.leaf(tmp_path, serving.look(tmp_path, None).names))


def test_a_machine_without_addresses_of_the_newer_kind(monkeypatch):
    plain = socket.socket

    def only_older(family, *more):
        if family == socket.AF_INET6:
            raise OSError(errno.EAFNOSUPPORT, "Address family not supported by protocol")
        return plain(family, *more)

    found = [(socket.AF_INET, socket.SOCK_STREAM, 6, "", (one, 0)) for one in ("127.0.1.1", "192.168.7.9")]
    monkeypatch.setattr(socket, "socket", only_older)
    monkeypatch.setattr(socket, "getaddrinfo", lambda *_: found)
    assert names.addresses()[-1] == "192.168.7.9"


def test_phones_that_know_another_address_are_thought_of(tmp_path, monkeypatch):
    monkeypatch.setattr("webapp.lan.names.addresses", lambda: [])
    assert serving.look(tmp_path, NAME).name == NAME
    assert serving.address_before(tmp_path, f"https://{NAME}:8443") is None
    assert serving.address_before(tmp_path, f"https://{NAME}:8443") is None
    assert serving.address_before(tmp_path, "https://10.0.0.5:8443") == f"https://{NAME}:8443"
    assert serving.last_address(tmp_path) == "https://10.0.0.5:8443"
    for name in ("book.example", "8.8.8.8", "a b"):
        with pytest.raises(AppError) as caught:
            serving.look(tmp_path, name)
        assert caught.value.code == "lan_name"


def test_an_address_of_the_newer_kind_is_listened_for():
    assert (serving.everywhere("fd00::2"), serving.everywhere("10.0.0.5")) == ("::", "0.0.0.0")
    assert serving.hosts_of(["fd00::2", NAME]) == ["[fd00::2]", NAME]
