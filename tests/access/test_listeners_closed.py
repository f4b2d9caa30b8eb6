"""Where one of the listeners of ``--lan`` cannot listen, those before it end: nothing goes on by halves."""

import socket
import threading
from dataclasses import replace

import psutil
import pytest
from server_process import free_port

from webapp.app import opened
from webapp.commands.run import listening
from webapp.commands.run.where import Where
from webapp.errors import AppError

HERE = "127.0.0.1"


def ports_listening():
    """Return the ports of this process that take connections."""
    found = psutil.Process().net_connections(kind="tcp")
    return sorted(one.laddr.port for one in found if one.status == psutil.CONN_LISTEN)


def relays():
    return [t for t in threading.enumerate() if t.name == "tls-relay"]


@pytest.fixture
def taken():
    """A port where something listens already."""
    with socket.socket() as other:
        other.bind((HERE, 0))
        other.listen()
        yield other.getsockname()[1]


@pytest.fixture
def where():
    ports = {name: free_port() for name in ("port", "lan_port", "setup_port")}
    return Where(HERE, quiet=True, lan=True, name="fieldbox.local", **ports)


@pytest.mark.parametrize("name", ["port", "lan_port", "setup_port"])
def test_a_port_that_is_taken_leaves_no_other_listener(tmp_path, taken, where, name):
    before = ports_listening()
    where = replace(where, **{name: taken})
    with opened({"DATA_FOLDER": tmp_path / "data", **listening.access_of(where)}) as app, app.app_context():
        with pytest.raises(AppError) as caught:  # it holds every frame, so that nothing is closed by chance
            listening.listen_on_lan(app, where)
        assert caught.value.code == "address_taken"
        assert ports_listening() == before and relays() == []


def test_with_all_ports_free_there_are_four(tmp_path, where):
    before = ports_listening()
    with opened({"DATA_FOLDER": tmp_path / "data", **listening.access_of(where)}) as app, app.app_context():
        servers, relay, _watch = listening.listen_on_lan(app, where)
        own = sorted(set(ports_listening()) - set(before))
        assert {where.port, where.lan_port, where.setup_port} < set(own) and len(own) == 4
        relay.end()
        for one in servers:
            one.close()
    assert ports_listening() == before and relays() == []
