"""Is the server alive, and which one is it."""

from flask import Blueprint, Response
from sqlalchemy import text

from ..store.engine import reading
from ..web.openapi import document
from ..web.shell import release_name
from .bodies import answer_value

bp = Blueprint("health", __name__)


@bp.get("/healthz")
def health() -> Response:
    """Say that the server answers and that its database does."""
    with reading() as connection:
        connection.execute(text("SELECT 1"))
    return answer_value({"ok": True, "service": "fallbook", "release": release_name()})


@bp.get("/api/openapi.json")
def openapi() -> Response:
    """Describe this API."""
    return answer_value(document())
