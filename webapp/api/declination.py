"""Magnetic declination for a place and a day, for phones that have a signal."""

import datetime
import math

from flask import Blueprint, Response, request

from ..declination import declination, validity
from ..errors import AppError
from ..messages import general, t
from .bodies import answer_value

bp = Blueprint("declination", __name__)


@bp.get("/api/declination")
def find() -> Response:
    """Give the declination by the World Magnetic Model."""
    found = declination(_degrees("lat_deg", 90), _degrees("lon_deg", 180), _day("on"))
    first, last = validity(found.model)
    return answer_value(
        {
            "ok": True,
            "declination_deg": found.declination_deg,
            "sd_deg": found.sd_deg,
            "model": found.model,
            "valid_from": first.isoformat(),
            "valid_to": last.isoformat(),
        }
    )


def _degrees(name: str, most: float) -> float:
    try:
        value = float(request.args.get(name, ""))
    except ValueError:
        raise AppError("request_malformed", t("api.declination_degrees", name=name), name) from None
    if not math.isfinite(value) or abs(value) > most:
        raise AppError("declination_place", t("api.declination_range", name=name, most=general(most)), name)
    return value


def _day(name: str) -> datetime.date:
    text = request.args.get(name, "")
    try:
        if len(text) != 10:
            raise ValueError(text)
        return datetime.date.fromisoformat(text)
    except ValueError:
        raise AppError("request_malformed", t("api.declination_day", name=name), name) from None
