"""The exchange of entries."""

from flask import Blueprint, Response, request

from .. import config
from ..access import guard
from ..errors import AppError
from ..messages import t
from ..records.json_text import loads_fast
from ..sync.exchange import exchange
from ..sync.sender import Sender
from ..web.headers import need_type
from ..web.state import state
from .bodies import answer, json_value

bp = Blueprint("sync", __name__)


@bp.post("/api/sync")
def sync() -> Response:
    """Take entries, give entries."""
    need_type(request, "application/json")
    value = json_value(config.SYNC_BYTES, config.SYNC_UNPACKED_BYTES, loads_fast)
    who = guard.who()
    sender = Sender(who.name, who.address, who.device_id, who.jobs)
    try:
        return answer(exchange(value, state().summaries, sender))
    except RecursionError as error:
        raise AppError("body_not_json", t("api.nested_too_deeply")) from error
