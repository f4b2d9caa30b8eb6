"""What a level profile is made from: readings, ties, the start and how good the instruments are."""

from collections.abc import Sequence
from dataclasses import dataclass

from ..errors import SurveyError
from ..numbers.finite import finite, spread

SAME_PLACE_M = 1e-6  # two chainages nearer than this are one station
NOT_READ = 2  # of a length that nobody surveyed: it may rise or fall


@dataclass(frozen=True)
class LevelReading:
    """``deg`` [deg, + rises ahead], or ``over`` and no deg; ``sd_deg`` where it has its own.

    ``over``: +1 or -1 beyond the range, ``NOT_READ`` where nothing was read and the rise has either sign.
    ``to_m`` [m] is the end of the single straight pipe over which it acts, from ``chainage_m`` on.
    ``turned``: taken from the other end, so that the zero error of the instrument has the other sign.
    """

    chainage_m: float
    deg: float | None
    over: int = 0
    sd_deg: float | None = None
    to_m: float | None = None
    turned: bool = False


@dataclass(frozen=True)
class LevelTie:
    """A level of the invert taken by other means: chainage [m], level and standard deviation [m]."""

    chainage_m: float
    level_m: float
    sd_m: float


@dataclass(frozen=True)
class Pipes:
    """A stretch: chainages [m] and the length of its single pipes [m], None where not known."""

    from_m: float
    to_m: float
    unit_m: float | None


@dataclass(frozen=True)
class LevelSetup:
    """Where the levels begin and how good the instruments are.

    ``mode``: ``trapezoid`` (straight between readings) or ``span`` (each reading acts from its own
    chainage to the next). ``start_level_m`` None: levels are relative to the start, or carried
    by the ties. Standard deviations: ``sd_deg`` of one reading, ``zero_sd_deg`` of the zero error
    common to all (whose value ``zero_deg`` is taken off each reading), ``scale_sd`` of the counter
    scale common to all (a bare ratio), ``start_sd_m`` of the start level.
    """

    mode: str
    start_chainage_m: float
    start_level_m: float | None
    start_sd_m: float
    sd_deg: float
    zero_sd_deg: float
    scale_sd: float
    zero_deg: float = 0.0
    limit_deg: float = 10.0
    end_chainage_m: float | None = None
    pipes: tuple[Pipes, ...] = ()


def check_setup(setup: LevelSetup) -> None:
    """Refuse a setup that cannot be computed with.

    Raises
    ------
    SurveyError
        ``number_not_finite``, ``sd_negative``, ``mode_unknown``, ``limit_out_of_range``,
        ``end_before_start``, ``length_not_positive``, with the name of the field.

    Examples
    --------
    >>> check_setup(LevelSetup("trapezoid", 0.0, None, 0.0, 0.1, 0.0, 0.0))
    """
    for name in ("start_chainage_m", "start_level_m", "end_chainage_m", "zero_deg", "limit_deg"):
        value = getattr(setup, name)
        if value is not None:
            finite(value, name)
    for name in ("start_sd_m", "sd_deg", "zero_sd_deg", "scale_sd"):
        spread(getattr(setup, name), name)
    if setup.mode not in ("trapezoid", "span", "course"):
        raise SurveyError("mode_unknown", "mode")
    for index, pipes in enumerate(setup.pipes):
        finite(pipes.from_m, "pipes", index)
        finite(pipes.to_m, "pipes", index)
        if pipes.unit_m is not None and not finite(pipes.unit_m, "pipes", index) > 0:
            raise SurveyError("length_not_positive", "pipes", index)
    if not 0 < setup.limit_deg <= 90:
        raise SurveyError("limit_out_of_range", "limit_deg")
    if setup.end_chainage_m is not None and setup.end_chainage_m < setup.start_chainage_m:
        raise SurveyError("end_before_start", "end_chainage_m")


def check_readings(readings: Sequence[LevelReading], start_chainage_m: float) -> list[int]:
    """Return the places of the readings from the start on, after checking every one.

    Parameters
    ----------
    readings : sequence of LevelReading, length n
        In ascending chainage [m].
    start_chainage_m : float
        Readings before it [m] are left out.

    Returns
    -------
    list of int
        At least one.

    Raises
    ------
    SurveyError
        ``number_not_finite``, ``reading_incomplete`` (neither deg nor over),
        ``inclination_beyond_vertical``, ``sd_negative``, ``pipes_overlap`` (a pipe that ends before it
        begins), ``chainage_not_ascending``, with the index; ``no_readings``.

    Examples
    --------
    >>> check_readings([LevelReading(-1.0, 1.0), LevelReading(2.0, 1.0)], 0.0)
    [1]
    """
    kept = []
    for index, reading in enumerate(readings):
        _check_reading(reading, index)
        if index and reading.chainage_m < readings[index - 1].chainage_m:
            raise SurveyError("chainage_not_ascending", "readings", index)
        if reading.chainage_m >= start_chainage_m:
            kept.append(index)
    if not kept:
        raise SurveyError("no_readings", "readings")
    return kept


def _check_reading(reading: LevelReading, index: int) -> None:
    finite(reading.chainage_m, "readings", index)
    for value in (reading.deg, reading.to_m):
        if value is not None:
            finite(value, "readings", index)
    if reading.sd_deg is not None:
        spread(reading.sd_deg, "readings", index)
    if reading.deg is None and reading.over not in (-1, 1, NOT_READ):
        raise SurveyError("reading_incomplete", "readings", index)
    if reading.deg is not None and abs(reading.deg) > 90:
        raise SurveyError("inclination_beyond_vertical", "readings", index)
    if reading.to_m is not None and reading.to_m < reading.chainage_m:
        raise SurveyError("pipes_overlap", "readings", index)


def check_ties(ties: Sequence[LevelTie], setup: LevelSetup) -> float:
    """Return the chainage of the last tie, that of the start if there is none.

    Returns
    -------
    float
        Chainage [m].

    Raises
    ------
    SurveyError
        ``number_not_finite``, ``sd_negative``, ``tie_before_start``, ``tie_beyond_end``, with the index of
        the tie.

    Examples
    --------
    >>> check_ties([LevelTie(9.0, 1.0, 0.01)], LevelSetup("span", 0.0, None, 0.0, 0.1, 0.0, 0.0))
    9.0
    """
    last_m = setup.start_chainage_m
    for index, tie in enumerate(ties):
        finite(tie.chainage_m, "ties", index)
        finite(tie.level_m, "ties", index)
        spread(tie.sd_m, "ties", index)
        if tie.chainage_m < setup.start_chainage_m - SAME_PLACE_M:
            raise SurveyError("tie_before_start", "ties", index)
        if setup.end_chainage_m is not None and tie.chainage_m > setup.end_chainage_m + SAME_PLACE_M:
            raise SurveyError("tie_beyond_end", "ties", index)
        last_m = tie.chainage_m if tie.chainage_m > last_m else last_m
    return last_m
