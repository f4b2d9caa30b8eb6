"""What a trace rests on besides the records of its run: norths, pipes and joints, and what is assumed."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypedDict

from ..records import JobFields, Position, StretchRecord
from ..table_types.pipe import JointDeflection
from .north import grid_convergence
from .position_accuracy import radius_95_m, stated_pct

# Common practice, no source, but for the model: its error (WMM2025: the root of 0.26 squared plus (5417 / H)
# squared, in degrees, H in nT; World Magnetic Model technical report) is below 0.7 where H exceeds 8,400 nT.
ASSUMED = {
    "bearing_sd_deg": 5.0,
    "bend_sd_deg": 5.0,
    "position_radius_m": 10.0,
    "declination_sd_deg": 1.0,
    "model_sd_deg": 0.7,
}


@dataclass(frozen=True)
class TraceBasis:
    """How well the declination is known, the stretches and joints, the grid's central meridian [deg]."""

    declination_sd_deg: float | None = None
    declination_known: str | None = None
    declination_model: str | None = None
    stretches: Sequence[StretchRecord] = ()
    joint_rows: Sequence[JointDeflection] = ()
    central_meridian_deg: float | None = None


class DeclinationUsed(TypedDict):
    """The declination that a trace goes by [degrees]."""

    deg: float
    sd_deg: float
    sd_known: str
    known: str
    model: str


def declination_used(declination_deg: float, basis: TraceBasis) -> DeclinationUsed:
    """Return a declination with its standard deviation.

    Parameters
    ----------
    declination_deg : float
        From true to magnetic north [deg], east positive.

    Returns
    -------
    dict
        ``deg``, ``sd_deg`` [deg]; ``sd_known`` (``assumed``, or ``computed`` of a model and ``measured``
        otherwise where one is recorded), ``known`` (``model``, ``map``, ``typed`` or empty), ``model``.

    References
    ----------
    Assumed: 0.7 degrees of a World Magnetic Model, by its error model; 1 degree of a map or a typed value,
    whose year may be long past: common practice, no source.

    Examples
    --------
    >>> declination_used(2.0, TraceBasis(declination_known="map"))["sd_deg"]
    1.0
    """
    provenance, sd = basis.declination_known or "", basis.declination_sd_deg
    by_model = provenance == "model"
    if sd is None:
        sd, sd_known = ASSUMED["model_sd_deg" if by_model else "declination_sd_deg"], "assumed"
    else:
        sd_known = "computed" if by_model else "measured"
    return {
        "deg": declination_deg, "sd_deg": sd, "sd_known": sd_known, "known": provenance,
        "model": basis.declination_model or "",
    }  # fmt: skip


class ConvergenceUsed(TypedDict):
    """The grid convergence that a trace goes by [degrees]."""

    deg: float
    known: str


def convergence_used(
    convergence_deg: float | None, start: Position | None, basis: TraceBasis
) -> ConvergenceUsed | None:
    """Return the grid convergence at the start of a run.

    Parameters
    ----------
    convergence_deg : float or None
        As typed in, from true to grid north [deg], clockwise positive.
    start : mapping or None
        Position of the start node: ``lat_deg``, ``lon_deg`` [deg].

    Returns
    -------
    dict or None
        ``deg`` [deg] and ``known``: ``typed``, which always counts, or ``computed`` from the position and the
        central meridian of the grid. None where neither can be had.

    Raises
    ------
    SurveyError
        ``too_far_from_meridian``, as ``grid_convergence``.

    Examples
    --------
    >>> place, basis = {"lat_deg": 54.0, "lon_deg": -1.5}, TraceBasis(central_meridian_deg=-3.0)
    >>> round(convergence_used(None, place, basis)["deg"], 4), convergence_used(1.0, place, basis)["known"]
    (1.2136, 'typed')
    """
    if convergence_deg is not None:
        return {"deg": convergence_deg, "known": "typed"}
    if start is None or basis.central_meridian_deg is None:
        return None
    found = grid_convergence(start["lat_deg"], start["lon_deg"], basis.central_meridian_deg)
    return {"deg": found, "known": "computed"}


class PositionUsed(TypedDict):
    """The radius of a position that a trace goes by [m], and where it is from."""

    radius_m: float
    known: str
    stated_m: float | None
    stated_pct: float | None
    source: str


def position_used(position: Position) -> PositionUsed:
    """Return how well a position is known.

    Parameters
    ----------
    position : mapping
        Of a node: ``accuracy_m`` [m], ``source``, ``accuracy_pct`` [%].

    Returns
    -------
    dict
        ``radius_m`` [m]: holds it 95 times in 100; ``known`` (``measured`` or ``assumed``); ``stated_m`` [m]
        and ``stated_pct`` [%] as its source states them, None without; ``source``.

    Examples
    --------
    >>> position_used({})["radius_m"]
    10.0
    """
    radius = radius_95_m(position)
    if radius is None:
        return {"radius_m": ASSUMED["position_radius_m"], "known": "assumed", "stated_m": None,
                "stated_pct": None, "source": position.get("source") or ""}  # fmt: skip
    return {"radius_m": radius, "known": "measured", "stated_m": position["accuracy_m"],
            "stated_pct": stated_pct(position), "source": position.get("source") or ""}  # fmt: skip


def basis_of(
    job: JobFields, stretches: Sequence[StretchRecord], joint_rows: Sequence[JointDeflection]
) -> TraceBasis:
    """Return what a trace rests on besides the records of its run.

    Parameters
    ----------
    stretches : sequence of mapping
        Stretch records of the run, each with ``fields``.

    Returns
    -------
    TraceBasis
        Standard deviation of the declination [deg] and the rest as recorded.

    Examples
    --------
    >>> basis_of({"declination_sd_deg": 0.4}, [], []).declination_sd_deg
    0.4
    """
    return TraceBasis(
        job.get("declination_sd_deg"),
        job.get("declination_known"),
        job.get("declination_model"),
        stretches,
        joint_rows,
        job.get("grid_central_meridian_deg"),
    )
