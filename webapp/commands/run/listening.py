"""Where ``fallbook serve`` and ``fallbook demo`` listen, and what they say of it."""

import contextlib
import sys
from collections.abc import Callable
from functools import partial
from typing import Any

import click
from flask import Flask

from ... import config, serve
from ...access import granting
from ...access.links import join_link
from ...access.terms import SURVEYOR
from ...access.who import COOKIE
from ...erasing import clearing
from ...lan import certificates, serving, setup_page
from ...lan.relay import Relay
from ...lan.serving import Lan, Watch
from ...messages import t
from ...upkeep import cleaning
from ...web import log
from ...web.state import state_of
from .. import interrupt
from . import qr_code
from .where import Where


def check(where: Where) -> None:
    """Refuse, before anything is opened, to listen where others could come without a credential."""
    if not where.lan:
        serve.check_host(where.host or "127.0.0.1", config.settings(None)["ACCESS"])


def access_of(where: Where) -> dict[str, object]:
    """Return the settings that go with --lan: credentials are asked for, and TLS may end with the network."""
    return {"CREATE": True, **({"ACCESS": True, "HSTS": False} if where.lan else {})}


def _now_and_then(app: Flask, tick: Callable[[], None] | None) -> None:
    state = state_of(app)
    ground = cleaning.Ground(state.folder, state.photos, app.config["KEEP_DAYS"])
    steps: dict[str, Callable[[], object]] = {
        **({"network": tick} if tick else {}),
        "erasing": partial(clearing.on_its_day, state.folder, state.photos.place),
        "cleaning": partial(cleaning.on_its_day, ground),
    }
    for name, step in steps.items():
        try:
            with app.app_context():
                step()
        except Exception:  # a full disk, a file that cannot be read: the server goes on, and tries again
            log.LOG.exception(name, extra={"parts": {}})


def run(app: Flask, where: Where) -> None:
    """Listen, say where, and serve until told to stop."""
    interrupt.stop_if_it_came()
    parts = listen_on_lan(app, where) if where.lan else (listen(app, where), None, None)
    click.echo(t("cli.serve.stop_with"))
    if sys.stdout is not None:
        sys.stdout.flush()
    if not where.quiet:
        log.to_stderr()
    interrupt.stop_if_it_came()
    state_of(app).looking.start()
    servers, relay, tick = parts
    serve.run(servers, relay, partial(_now_and_then, app, tick))
    click.echo(t("cli.serve.stopped"))


def listen(app: Flask, where: Where) -> list[Any]:
    """Return the one listener, and say where it is."""
    access = app.config["ACCESS"]
    host = serve.check_host(where.host or "127.0.0.1", access)
    server = serve.make(app, host, where.port, forwarded=bool(app.config["PROXIES"]) or not access)
    address = serve.address(server)
    click.echo(t("cli.serve.at", address=address))
    click.echo(t("cli.serve.data_folder", folder=app.config["DATA_FOLDER"]))
    if access:
        click.echo(t("cli.serve.everybody"))
    else:
        click.echo(t("cli.serve.open_here", command=where.command))
    return [server]


def listen_on_lan(app: Flask, where: Where) -> tuple[list[Any], Relay, Watch]:
    """Return the three listeners of --lan, and say what phones need."""
    folder = app.config["DATA_FOLDER"]
    lan = serving.look(folder, where.name)
    chain, key, said = serving.certify(app, lan, lan.names)
    context = certificates.tls_context(chain, key)
    everywhere = where.host or serving.everywhere(lan.name)
    with contextlib.ExitStack() as begun:  # where one of them cannot listen, those before it end
        local = serve.make(serving.open_to_this_machine(app), "127.0.0.1", where.port, forwarded=True)
        begun.callback(local.close)
        peers: dict[int, str] = {}
        inside = serve.make(serving.from_relay(app, peers), "127.0.0.1", 0, scheme="https")
        begun.callback(inside.close)
        relay = Relay(everywhere, where.lan_port, context, ("127.0.0.1", inside.effective_port), peers)
        relay.start()
        begun.callback(relay.end)
        hosts = serving.hosts_of(lan.names)
        url = f"https://{serving.host_of(lan.name)}:{relay.port}"
        page = setup_page.make(lambda: lan.authority, url, hosts)
        setup = serve.make(page, everywhere, where.setup_port)
        begun.pop_all()
    setup_url = f"http://{serving.host_of(lan.name)}:{setup.effective_port}/"
    urls = {"PUBLIC_URL": url, "SETUP_URL": setup_url} if lan.on_network else {"PUBLIC_URL": ""}
    app.config.update(HOST_NAMES=hosts, **urls)
    say_lan(app, lan, where, serve.address(local))
    for one in said:
        serving.log_trouble(one)
        click.echo(t("cli.serve.caution", what=one.sentence))
    watch = Watch(app, lan, relay, lambda text: click.echo(text, err=True))
    return [local, inside, setup], relay, watch


def say_lan(app: Flask, lan: Lan, where: Where, local: str) -> None:
    """Print what a phone needs: the setup page once, then an invitation."""
    url, setup_url = app.config["PUBLIC_URL"], app.config["SETUP_URL"]
    click.echo(t("cli.serve.on_this_machine", local=local))
    click.echo(t("cli.serve.data_folder", folder=app.config["DATA_FOLDER"]))
    if not url:
        click.echo(t("cli.serve.no_network", command=where.command))
        return
    if before := serving.address_before(lan.folder, url):
        click.echo(t("cli.serve.moved", before=before))
    click.echo(t("cli.serve.trust", setup_url=setup_url))
    qr_code.show(setup_url)
    fingerprint = t("cli.serve.fingerprint", fingerprint=lan.authority.fingerprint)
    click.echo(f"   {fingerprint}")
    somebody = any(row["revoked_at"] is None for row in granting.devices(COOKIE))
    if sys.stdout is None or not sys.stdout.isatty() or (somebody and not where.is_demo):
        # What is not a terminal may be a log, and a log holds no secret.
        click.echo(t("cli.serve.phones_come", url=url, local=local))
        return
    code = granting.invite(SURVEYOR, "", None, granting.INVITATION_HOURS, granting.By())
    link = join_link(url, code)
    click.echo(t("cli.serve.invitation", hours=granting.INVITATION_HOURS, link=link))
    qr_code.show(link)
