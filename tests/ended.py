"""Which servers a test ended as a power cut would: that may cut off an answer, and nothing else may."""

from urllib.parse import urlsplit

_ended: set[int] = set()
_behind: dict[int, int] = {}


def is_new(port: int) -> None:
    """Forget what was at a port before."""
    _ended.discard(port)
    _behind.pop(port, None)


def stands_before(port: int, server_port: int) -> None:
    """Note that what is asked at ``port`` is answered by the server at ``server_port``."""
    is_new(port)
    _behind[port] = _behind.get(server_port, server_port)


def note(port: int) -> None:
    """Note that the server at a port is ended now, in the middle of anything."""
    _ended.add(port)


def was_ended(url: str) -> bool:
    """Say whether the server that answers for an address was ended."""
    port = urlsplit(url).port
    return port is not None and _behind.get(port, port) in _ended
