"""Is the server alive, and which one is it."""

from flask import Blueprint, Response
from sqlalchemy import select

from ..store.engine import reading
from ..store.models import db
from ..web.openapi import document
from ..web.shell import release_name
from ..web.state import state
from .bodies import answer_value

bp = Blueprint("health", __name__)
# A row of every table itself and the last one of its key: cheap however much there is.
_FIRST = {table.name: select(table).limit(1) for table in db.metadata.sorted_tables}
_LAST = {
    table.name: select(table).order_by(*(c.desc() for c in table.primary_key)).limit(1)
    for table in db.metadata.sorted_tables
}


@bp.get("/healthz")
def health() -> Response:
    """Say that the server answers, that its database can be read and that its photos are where they were.

    ``whole`` is false where the slow look in the background has found a job or a photo damaged: the rest goes
    on, and so does this server.
    """
    with reading() as connection:
        for table in db.metadata.sorted_tables:
            connection.execute(_FIRST[table.name]).first()
            connection.execute(_LAST[table.name]).first()
    found = state()
    found.photos.place.check()
    about = {"ok": True, "service": "fallbook", "release": release_name(), "whole": found.looking.all_whole}
    return answer_value(about)


@bp.get("/api/openapi.json")
def openapi() -> Response:
    """Describe this API."""
    return answer_value(document())
