"""How rough a wall in use may be: a range by material, by what the pipe carries and by what was seen."""

from collections.abc import Sequence
from typing import TypedDict

from ..records import ObservationRecord, StretchFields
from ..table_types.pipe import Roughness

SURFACE_WATER = ("surface_water", "culverted_watercourse")
DESIGN_MM = {"surface": (0.6, 1.5), "foul": (1.5, 3.0)}  # usual in design, and slimed or silted
WORN_CODES = ("BAF", "BAE", "BBB")
CORROSION = (("BBB", "A"), ("BAF", "J"), ("BAF", "H"))
METAL = ("cast_iron", "grey_iron", "ductile_iron", "steel")
WORN_MM, TUBERCLES_MM = 6.0, 30.0
MIN_WORN_MM = 0.3  # what was seen to be worn or encrusted is no clean wall
SMOOTH_MM = 0.06  # the smoothest wall in use where the material is not known
TYPED_FACTOR = 2.0


class WallRoughness(TypedDict):
    """Between which sizes the roughness of a wall lies, and the likely one [mm]."""

    low_mm: float
    mm: float
    high_mm: float
    value: str  # of the table's row, empty where none


def wall_roughness(
    stretch: StretchFields, seen: Sequence[ObservationRecord], water_carried: str | None,
    rows: Sequence[Roughness],
) -> WallRoughness:  # fmt: skip
    """Return the roughness of a wall in use and the range that holds it.

    Parameters
    ----------
    stretch : mapping
        Fields of the stretch: ``roughness_mm`` [mm] where recorded, ``material``.

    Returns
    -------
    dict
        ``low_mm``, ``mm``, ``high_mm`` [mm], ``value``: the row that the clean wall is of, or empty.

    Examples
    --------
    >>> wall_roughness({}, [], "foul", [])["mm"]
    1.5
    """
    typed = stretch.get("roughness_mm")
    material = stretch.get("material")
    own = [row for row in rows if material in row["materials"] and row["k_s_mm"] is not None]
    value = own[0]["value"] if own else ""
    if typed is not None:
        return {"low_mm": typed / TYPED_FACTOR, "mm": typed, "high_mm": typed * TYPED_FACTOR, "value": ""}
    usual_mm, slimed_mm = DESIGN_MM["surface" if water_carried in SURFACE_WATER else "foul"]
    clean_mm = float(own[0]["k_s_mm"]) if own else SMOOTH_MM
    low_mm = float(own[0]["k_s_good_mm"] or clean_mm) if own else SMOOTH_MM
    mm, high_mm = max(usual_mm, clean_mm), max(slimed_mm, clean_mm)
    codes = [(one["fields"].get("code"), one["fields"].get("characterisation_1")) for one in seen]
    if any(code in WORN_CODES for code, _ in codes):
        mm, high_mm = max(mm, slimed_mm), max(high_mm, WORN_MM)
        low_mm = max(low_mm, MIN_WORN_MM)
    if material in METAL and any(one in CORROSION for one in codes):
        mm, high_mm = max(mm, WORN_MM), max(high_mm, TUBERCLES_MM)
    return {"low_mm": min(low_mm, mm), "mm": mm, "high_mm": high_mm, "value": value}
