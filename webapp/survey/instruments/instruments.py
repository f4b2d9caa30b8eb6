"""What the instrument checks say of counter and inclinometer, and what is assumed without them."""

from collections.abc import Sequence
from dataclasses import dataclass

from ..errors import SurveyError
from ..records import CheckFields, CheckRecord
from .counter_scale import TapeCheck, scale_of_checks
from .gradient import inclination_deg
from .inclinometer import zero_from_reversal

# Common practice, no source; each stands in the pack as assumed until a check replaces it.
ASSUMED = {
    "limit_deg": 10.0,
    "sd_deg": 0.2,
    "zero_sd_deg": 0.2,
    "scale_sd": 0.005,
    "tape_sd_m": 0.02,
    "tie_sd_m": 0.01,
    "dip_sd_m": 0.01,
}


@dataclass(frozen=True)
class Instruments:
    """What the checks say of counter and inclinometer; ``known`` words say measured or assumed.

    ``scale`` and ``scale_sd`` are bare ratios, ``limit_deg``, ``sd_deg``, ``zero_deg`` and
    ``zero_sd_deg`` [deg], ``cable_length_m`` [m], ``camera_height_mm`` [mm].
    """

    scale: float
    scale_sd: float
    scale_known: str
    limit_deg: float
    limit_known: str
    sd_deg: float
    sd_known: str
    zero_deg: float
    zero_sd_deg: float
    zero_known: str
    cable_length_m: float | None
    camera_height_mm: float | None


def instruments_of(checks: Sequence[CheckRecord], run_id: str) -> Instruments:
    """Return what the instrument checks say for one run.

    Parameters
    ----------
    checks : sequence of mapping
        Check records, each with ``id`` and ``fields``, in the order of their making.

    Examples
    --------
    >>> instruments_of([], "r").limit_known
    'assumed'
    """
    limit = _last(checks, run_id, "inclinometer_limit")
    sd_deg = limit.get("sd_deg")
    scale, scale_sd = _scale(_of_kind(checks, run_id, "counter_tape"))
    known_sd = ASSUMED["sd_deg"] if sd_deg is None else sd_deg
    zero = _zero(_last(checks, run_id, "inclinometer_reversed"), known_sd)
    limit_deg = limit.get("limit_deg")
    return Instruments(
        1.0 if scale is None else scale,
        ASSUMED["scale_sd"] if scale is None else scale_sd,
        "assumed" if scale is None else "computed",
        ASSUMED["limit_deg"] if limit_deg is None else limit_deg,
        "assumed" if limit_deg is None else "measured",
        known_sd,
        "assumed" if sd_deg is None else "measured",
        0.0 if zero is None else zero[0],
        ASSUMED["zero_sd_deg"] if zero is None else zero[1],
        "assumed" if zero is None else "computed",
        _last(checks, run_id, "cable_length").get("cable_length_m"),
        _last(checks, run_id, "camera_height").get("camera_height_mm"),
    )


def checked_limit_deg(instruments: Instruments) -> float | None:
    """Return the largest inclination that the instrument reads, where somebody has checked it.

    Returns
    -------
    float or None
        [deg]; None where it is only assumed.

    Examples
    --------
    >>> checked_limit_deg(instruments_of([], "r"))
    """
    return instruments.limit_deg if instruments.limit_known == "measured" else None


def _of_kind(checks: Sequence[CheckRecord], run_id: str, check_type: str) -> list[CheckFields]:
    mine = [c["fields"] for c in checks if c["fields"].get("check_type") == check_type]
    own = [f for f in mine if f.get("run_id") == run_id]
    return own or [f for f in mine if not f.get("run_id")]


def _last(checks: Sequence[CheckRecord], run_id: str, check_type: str) -> CheckFields:
    found = _of_kind(checks, run_id, check_type)
    return found[-1] if found else {}


def _scale(fields: Sequence[CheckFields]) -> tuple[float | None, float]:
    tapes = []
    for one in fields:
        start, end, taped = one.get("counter_from_m"), one.get("counter_to_m"), one.get("taped_length_m")
        sd = one.get("taped_length_sd_m") or ASSUMED["tape_sd_m"]
        if start is not None and end is not None and taped is not None:
            tapes.append(TapeCheck(start, end, taped, sd))
    try:
        found = scale_of_checks(tapes)
    except SurveyError:
        return None, 0.0
    return found.scale, found.sd


def _zero(fields: CheckFields, sd_deg: float) -> tuple[float, float] | None:
    ahead, back = fields.get("reading_forward"), fields.get("reading_reversed")
    if not ahead or not back:
        return None
    one, other = inclination_deg(ahead), inclination_deg(back)
    if one is None or other is None:
        return None
    return zero_from_reversal(one, other, sd_deg)
