"""A stretch taken as a short culvert: what it passes under a headwater, by inlet and outlet control."""

from collections.abc import Sequence

from ..errors import SurveyError
from ..section.bore import Bore
from ..table_types.pipe import CulvertInlet
from .culvert import CulvertCapacity, culvert_capacity
from .culvert_inlet import Culvert, Inlet
from .resistance import Resistance
from .types import CapacityRow


def inlets_for(rows: Sequence[CulvertInlet], kind: str) -> list[CulvertInlet]:
    """Return the inlets of the table that go with a shape of bore.

    Parameters
    ----------
    kind : str
        Kind of bore, as in ``bore``.

    References
    ----------
    FHWA HDS-5, by way of the table.

    Examples
    --------
    >>> inlets_for([{"value": "a", "shapes": ["circular"]}], "egg")
    []
    """
    return [row for row in rows if kind in row["shapes"]]


class RunCulvert(CulvertCapacity):
    """What a stretch passes as a culvert at its mean fall, and at the ends of the fall's band."""

    low_m3_s: float | None
    high_m3_s: float | None


def run_culvert(
    row: CapacityRow,
    length_m: float,
    inlet: Inlet,
    headwater_m: float,
    tailwater_m: float,
) -> RunCulvert:
    """Return what a stretch passes as a culvert, with the band of its fall.

    Parameters
    ----------
    row : mapping
        A row of ``run_capacity``: bore [m], roughness [mm] and gradients [m/m].
    length_m : float
        Length of the culvert [m].
    headwater_m : float
        Water above the invert at the inlet [m].
    tailwater_m : float
        Water above the invert at the outlet [m].

    Returns
    -------
    dict
        As ``culvert_capacity`` [m3/s] at the mean fall, with ``low_m3_s`` and ``high_m3_s`` [m3/s] at the
        ends of its band (None where a bound is open), and ``known`` no better than the fall's.

    Raises
    ------
    SurveyError
        ``gradient_unknown`` when no fall is known; ``bore_unknown`` without a bore; otherwise as
        ``culvert_capacity``.

    References
    ----------
    FHWA HDS-5, see ``culvert``. The flow grows with the fall under outlet control and hardly changes under
    inlet control; the lesser and the greater of the two ends are given.

    Examples
    --------
    >>> row = {"bore": None, "roughness_mm": 1.5, "gradient": 0.01}
    >>> run_culvert(row, 20.0, {}, 1.0, 0.0)
    Traceback (most recent call last):
    webapp.survey.errors.SurveyError: bore_unknown (row)
    """
    if row["bore"] is None or row["roughness_mm"] is None:
        raise SurveyError("bore_unknown", "row")
    if row["gradient"] is None:
        raise SurveyError("gradient_unknown", "row")
    bore = Bore(**row["bore"])
    resistance = Resistance("colebrook_white", row["roughness_mm"] / 1000)

    def at(gradient: float) -> CulvertCapacity:
        culvert = Culvert(bore, length_m, gradient, resistance, inlet)
        return culvert_capacity(culvert, headwater_m, tailwater_m)

    ends = [row["gradient_low"], row["gradient_high"]]
    low, high = (None if end is None else at(end)["discharge_m3_s"] for end in ends)
    found = at(row["gradient"])
    if low is not None and high is not None and high < low:
        low, high = high, low
    if found["known"] == "computed":
        found["known"] = row["gradient_known"]
    return {**found, "low_m3_s": low, "high_m3_s": high}
