"""``fallbook serve --lan``: three listeners on one application.

https, on the network    credentials are asked for; TLS in relay.py
http, on the network     the setup page alone (setup_page.py)
http, on this machine    the office, open to this machine only
"""

import ipaddress
import logging
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from flask import Flask

from .. import addresses
from ..access.who import LOCAL_MARK
from ..errors import AppError
from ..messages import listed, t
from . import certificates, names, validity
from .relay import Relay
from .validity import Trouble

ADDRESS_FILE = "address"
LOG = logging.getLogger("fallbook")
Wsgi = Callable[[dict[str, object], Any], Iterable[bytes]]


@dataclass
class Lan:
    """What is known of the machine on its network."""

    folder: Path
    authority: certificates.Authority
    names: list[str]
    name: str  # by which phones are told to come
    on_network: bool  # whether that name leads others here at all


def look(folder: Path, name: str | None) -> Lan:
    """Return how the machine is called on its network; ``name`` is the one that phones shall use."""
    own = certificates.authority(folder)
    name = None if name is None else _called(name)
    found = [n for n in dict.fromkeys([*([name] if name else []), *names.machine_names()])]
    found = [n for n in found if certificates.is_permitted(own, n)]
    if name and name not in found:
        raise AppError("lan_name", f"({name})")
    outside = [n for n in found if n not in names.LOOPBACK]
    by_address = sorted((n for n in outside if _is_address(n)), key=lambda n: ":" in n)
    called = name or next(iter([*by_address, *outside, "localhost"]))
    return Lan(folder, own, found, called, on_network=bool(name or by_address))


def _called(name: str) -> str:
    try:
        return addresses.host_name(name).strip("[]")
    except addresses.NoAddress as why:
        raise AppError("lan_name", f"--name: {why}.") from why


def _is_address(name: str) -> bool:
    try:
        ipaddress.ip_address(name)
    except ValueError:
        return False
    return True


def everywhere(name: str) -> str:
    """Return the address that stands for all of this machine's, of the kind that phones come by."""
    return "::" if ":" in name else "0.0.0.0"  # noqa: S104  credentials are asked for there


def host_of(name: str) -> str:
    """Return a name or address as an URL has it."""
    return f"[{name}]" if ":" in name else name


def hosts_of(found: Iterable[str]) -> list[str]:
    """Return the names of a machine as a browser sends them."""
    return [host_of(name) for name in found]


def address_before(folder: Path, now: str) -> str | None:
    """Return where phones came before, if that was elsewhere; remember where they come now."""
    before = last_address(folder)
    (folder / certificates.CERTIFICATES / ADDRESS_FILE).write_text(now + "\n", encoding="utf-8")
    return before if before != now else None


def last_address(folder: Path) -> str | None:
    """Return where phones came when the server was last started for them."""
    try:
        return addresses.public_url(
            (folder / certificates.CERTIFICATES / ADDRESS_FILE).read_text(encoding="utf-8")
        )
    except (OSError, ValueError):  # never served so, or no address of ours: then it is not known
        return None


def open_to_this_machine(app: Wsgi) -> Wsgi:
    """Mark what comes in on the listener of the loopback address."""

    def marked(environ: dict[str, object], start: Any) -> Iterable[bytes]:
        return app(environ | {LOCAL_MARK: True}, start)

    return marked


def from_relay(app: Wsgi, peers: dict[int, str]) -> Wsgi:
    """Put the phone's own address in place of the relay's."""

    def application_here(request: dict[str, Any], start: Any) -> Iterable[bytes]:
        address = peers.get(int(request["REMOTE_PORT"]), "unknown")
        return app(request | {"REMOTE_ADDR": address}, start)

    return application_here


def certify(app: Flask, lan: Lan, wanted: list[str]) -> tuple[Path, Path, list[Trouble]]:
    """Return chain and key for names, mended where their time did not hold, and what there is to say of it.

    What is still wrong afterwards stands on the pages of the office too.
    """
    before = validity.leaf_trouble(lan.folder)
    chain, key = certificates.leaf(lan.folder, wanted)
    left = validity.troubles(lan.folder)
    app.config["CERTIFICATE_TROUBLES"] = [one.sentence for one in left]
    app.config["CA_FINGERPRINT"] = lan.authority.fingerprint
    if before and before.how != validity.SOON and all(one.what != validity.SERVER for one in left):
        mended = t("lan.leaf_mended", what=before.sentence)
        return chain, key, [Trouble(validity.SERVER, "mended", mended), *left]
    return chain, key, left


class Watch:
    """Keeps the certificate good while the server runs: names change with the network, months go by."""

    def __init__(self, app: Flask, lan: Lan, relay: Relay, say: Callable[[str], None]) -> None:
        self._app, self._lan, self._relay, self._say = app, lan, relay, say
        self._gone, self._reported = False, ""
        self._said = {(one.what, one.how) for one in validity.troubles(lan.folder)}

    def __call__(self) -> None:
        """Look once.  What goes wrong is said, and the server goes on with the certificate that it has."""
        try:
            self._look()
        except (AppError, OSError) as error:
            if str(error) != self._reported:
                self._say(t("lan.certificate_trouble", why=error))
            self._reported = str(error)

    def _look(self) -> None:
        here = look(self._lan.folder, None)
        found, self._lan.authority = here.names, here.authority  # it may have been renewed
        wanted = list(dict.fromkeys([self._lan.name, *found]))
        chain, key, said = certify(self._app, self._lan, wanted)
        self._tell(said)
        self._relay.context.load_cert_chain(chain, key)
        self._lan.names = wanted
        self._app.config["HOST_NAMES"] = hosts_of(wanted)
        gone = _is_address(self._lan.name) and self._lan.name not in found
        if gone and not self._gone:
            others = [name for name in found if name not in names.LOOPBACK]
            self._say(
                t("lan.moved", name=self._lan.name, here=listed(others))
                if others
                else t("lan.off_network", name=self._lan.name)
            )
        self._gone = gone

    def _tell(self, said: list[Trouble]) -> None:
        """Say once what is wrong with the times of certificates, and again when it comes back."""
        for one in said:
            if (one.what, one.how) not in self._said:
                log_trouble(one)
                self._say(one.sentence)
        self._said = {(one.what, one.how) for one in said}


def log_trouble(one: Trouble) -> None:
    """Write into the log of the server what is wrong with a certificate."""
    parts = {"what": one.what, "how": one.how, "message": one.sentence}
    LOG.warning("certificate", extra={"parts": parts})
