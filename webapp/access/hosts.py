"""By which names a server is addressed: exactly those that it has, none below them."""

import re

from flask import Flask, Request, current_app, request

from ..errors import AppError


def install(app: Flask) -> None:
    """Refuse, before anything else, a request that names another host (``HOST_NAMES``)."""
    app.before_request(check)


def name_of(incoming: Request) -> str:
    """Return the host name that a request was sent to, without a port; empty if it is none."""
    return re.sub(r":[0-9]+$", "", incoming.host).lower()


def check() -> None:
    """Refuse a request that names another host."""
    if name_of(request) not in current_app.config["HOST_NAMES"]:
        raise AppError("host_unknown")
