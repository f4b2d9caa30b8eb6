"""Magnetic declination from the World Magnetic Model; a typed-in value needs none of this."""

import datetime
import functools
import math
from dataclasses import dataclass

from pygeomag import GeoMag

from .errors import AppError
from .messages import t

# model, first and last year of its validity, and its coefficients in the library
MODELS = (("WMM-2020", 2020.0, 2025.0, "wmm/WMM_2020.COF"), ("WMM-2025", 2025.0, 2030.0, "wmm/WMM_2025.COF"))


@dataclass(frozen=True)
class Declination:
    """From true to magnetic north [deg], east positive, with the model's own standard deviation.

    Steel nearby is not in it: a manhole cover, a vehicle or a reinforced wall can turn a compass
    by many degrees.
    """

    declination_deg: float
    sd_deg: float
    model: str


def declination(lat_deg: float, lon_deg: float, date: datetime.date, height_m: float = 0.0) -> Declination:
    """Return the declination at a place on a day.

    Raises AppError ``declination_date`` outside the years of the models, ``declination_place``
    for a place that is none, or where a compass does not work (near the magnetic poles).
    """
    if not (abs(lat_deg) <= 90 and abs(lon_deg) <= 180 and -10_000 <= height_m <= 100_000):
        raise AppError("declination_place")
    year = _decimal_year(date)
    for name, first, last, file in MODELS:
        if first <= year < last:
            found = _model(file).calculate(glat=lat_deg, glon=lon_deg, alt=height_m / 1000, time=year)
            if found.in_blackout_zone or not math.isfinite(found.d):
                raise AppError("declination_place", t("api.declination_field"))
            return Declination(float(found.d), float(found.calculate_uncertainty().d), name)
    raise AppError(
        "declination_date",
        t("api.declination_years", first=f"{MODELS[0][1]:.0f}", last=f"{MODELS[-1][2] - 1:.0f}"),
    )


def validity(model: str) -> tuple[datetime.date, datetime.date]:
    """Return the first and the last day for which a model is made."""
    first, last = next((first, last) for name, first, last, _ in MODELS if name == model)
    return datetime.date(int(first), 1, 1), datetime.date(int(last) - 1, 12, 31)


@functools.cache
def _model(file: str) -> GeoMag:
    return GeoMag(coefficients_file=file)


def _decimal_year(date: datetime.date) -> float:
    start = datetime.date(date.year, 1, 1)
    days = 366 if (date.year % 4 == 0 and date.year % 100 != 0) or date.year % 400 == 0 else 365
    return date.year + (datetime.date(date.year, date.month, date.day) - start).days / days
