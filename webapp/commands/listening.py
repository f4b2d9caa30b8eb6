"""Where ``fallbook serve`` and ``fallbook demo`` listen, and what they say of it."""

import contextlib
import sys
from typing import Any

import click
from flask import Flask

from .. import config
from .. import serve as serving
from ..access import granting
from ..access import links as joining
from ..access.terms import SURVEYOR
from ..access.who import COOKIE
from ..lan import certificates, setup_page
from ..lan import serving as serving_lan
from ..lan.relay import Relay
from ..lan.serving import Lan, Watch
from ..web import log
from . import qr_code
from .where import Where


def check(where: Where) -> None:
    """Refuse, before anything is opened, to listen where others could come without a credential."""
    if not where.lan:
        serving.check_host(where.host or "127.0.0.1", config.settings(None)["ACCESS"])


def access_of(where: Where) -> dict[str, Any]:
    """Return the settings that go with --lan: credentials are asked for, and TLS may end with the network."""
    return {"CREATE": True, **({"ACCESS": True, "HSTS": False} if where.lan else {})}


def run(app: Flask, where: Where) -> None:
    """Listen, say where, and serve until told to stop."""
    parts = listen_on_lan(app, where) if where.lan else (listen(app, where), None, None)
    click.echo("Stop with Ctrl-C.")
    if sys.stdout is not None:
        sys.stdout.flush()
    if not where.quiet:
        log.to_stderr()
    serving.run(*parts)
    click.echo("Stopped.")


def listen(app: Flask, where: Where) -> list[Any]:
    """Return the one listener, and say where it is."""
    access = app.config["ACCESS"]
    host = serving.check_host(where.host or "127.0.0.1", access)
    server = serving.make(app, host, where.port, forwarded=bool(app.config["PROXIES"]) or not access)
    address = serving.address(server)
    click.echo(f"Fallbook is at {address}  (jobs and packs: {address}office)")
    click.echo(f"Data folder: {app.config['DATA_FOLDER']}")
    if access:
        click.echo("Everybody needs a credential: fallbook invite lets a phone or an office in.")
    else:
        click.echo(
            "Open to this machine only, and to everybody on it. A phone cannot open this address, so there is"
        )
        click.echo(f"no QR code. For phones on the same network: {where.command} --lan")
    return [server]


def listen_on_lan(app: Flask, where: Where) -> tuple[list[Any], Relay, Watch]:
    """Return the three listeners of --lan, and say what phones need."""
    folder = app.config["DATA_FOLDER"]
    lan = serving_lan.look(folder, where.name)
    chain, key = certificates.leaf(folder, lan.names)
    context = certificates.tls_context(chain, key)
    everywhere = where.host or serving_lan.everywhere(lan.name)
    with contextlib.ExitStack() as begun:  # where one of them cannot listen, those before it end
        local = serving.make(serving_lan.open_to_this_machine(app), "127.0.0.1", where.port, forwarded=True)
        begun.callback(local.close)
        peers: dict[int, str] = {}
        inside = serving.make(serving_lan.from_relay(app, peers), "127.0.0.1", 0, scheme="https")
        begun.callback(inside.close)
        relay = Relay(everywhere, where.lan_port, context, ("127.0.0.1", inside.effective_port), peers)
        relay.start()
        begun.callback(relay.end)
        hosts = serving_lan.hosts_of(lan.names)
        url = f"https://{serving_lan.host_of(lan.name)}:{relay.port}"
        page = setup_page.make(lan.authority, url, hosts)
        setup = serving.make(page, everywhere, where.setup_port)
        begun.pop_all()
    setup_url = f"http://{serving_lan.host_of(lan.name)}:{setup.effective_port}/"
    told = {"PUBLIC_URL": url, "SETUP_URL": setup_url} if lan.on_network else {"PUBLIC_URL": ""}
    app.config.update(HOST_NAMES=hosts, CA_FINGERPRINT=lan.authority.fingerprint, **told)
    say_lan(app, lan, where, serving.address(local))
    watch = Watch(app, lan, relay, lambda text: click.echo(text, err=True))
    return [local, inside, setup], relay, watch


def say_lan(app: Flask, lan: Lan, where: Where, local: str) -> None:
    """Print what a phone needs: the setup page once, then an invitation."""
    url, setup_url = app.config["PUBLIC_URL"], app.config["SETUP_URL"]
    click.echo(f"On this machine: {local}  (jobs, packs, phones: {local}office/phones), open to it only")
    click.echo(f"Data folder: {app.config['DATA_FOLDER']}")
    if not url:
        click.echo("CAUTION: this machine is on no network. There is no address for a phone, so no QR code.")
        click.echo(f"Connect it to the network of the phones, then start {where.command} --lan again.")
        return
    if before := serving_lan.address_before(lan.folder, url):
        click.echo(
            f"CAUTION: phones came to {before} until now. What they hold is under that address; give this"
        )
        click.echo("machine its old address back, or start it with --name and the name that they know.")
    click.echo(f"1. Once for each phone, so that it trusts this machine: {setup_url}")
    qr_code.show(setup_url)
    click.echo(f"   SHA-256 of the certificate: {lan.authority.fingerprint}")
    somebody = any(row["revoked_at"] is None for row in granting.devices(COOKIE))
    if sys.stdout is None or not sys.stdout.isatty() or (somebody and not where.is_demo):
        # What is not a terminal may be a log, and a log holds no secret.
        click.echo(
            f"2. Phones come to {url}/ ; they are invited at {local}office/phones or by fallbook invite"
        )
        return
    code = granting.invite(SURVEYOR, "", None, granting.INVITATION_HOURS, granting.By())
    link = joining.join_link(url, code)
    click.echo(f"2. Invitation for one phone, good for {granting.INVITATION_HOURS} hours: {link}")
    qr_code.show(link)
