"""The relay between phone and server leaves nothing behind for another test to stumble over."""

import gc
import socket
import warnings

from relay import Relay


def test_a_relay_that_ends_closes_what_it_has_just_taken():
    with socket.create_server(("127.0.0.1", 0)) as target, warnings.catch_warnings(record=True) as told:
        warnings.simplefilter("always")
        for _ in range(30):
            with Relay(target.getsockname()[1]) as relay:
                clients = [socket.create_connection(("127.0.0.1", relay.port)) for _ in range(3)]
            for client in clients:
                client.close()
        gc.collect()
    assert [str(one.message) for one in told if one.category is ResourceWarning] == []
