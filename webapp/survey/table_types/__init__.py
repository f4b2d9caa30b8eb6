"""What each data table holds: the one place that says so, for both sides.

The tables are the JSON files of ``webapp/tables/``.  ``python -m webapp.schemas.types`` makes the types of
the phone from what stands here; a test holds every table against its type.
"""

from typing import TypedDict

from .codes import ObservationCodes, ReadingsCsv, UsualObservations
from .condition import Actions, GradingLimits, Hazards, VisibilityTable
from .pipe import (
    CulvertInlets,
    JointDeflections,
    Linings,
    Materials,
    MinimumGradients,
    Narrowings,
    RoughnessTable,
    Shapes,
)
from .site import ExchangeHeaders, Findings, LeaveSite, SafetySheet

__all__ = [
    "Actions",
    "CulvertInlets",
    "ExchangeHeaders",
    "Findings",
    "GradingLimits",
    "Hazards",
    "JointDeflections",
    "LeaveSite",
    "Linings",
    "Materials",
    "MinimumGradients",
    "Narrowings",
    "ObservationCodes",
    "ReadingsCsv",
    "RoughnessTable",
    "SafetySheet",
    "Shapes",
    "Tables",
    "UsualObservations",
    "VisibilityTable",
]


class Tables(TypedDict):
    """The data tables by name."""

    actions: Actions
    culvert_inlets: CulvertInlets
    exchange_headers: ExchangeHeaders
    findings: Findings
    grading_limits: GradingLimits
    hazards: Hazards
    joint_deflections: JointDeflections
    leave_site: LeaveSite
    linings: Linings
    materials: Materials
    minimum_gradients: MinimumGradients
    narrowings: Narrowings
    observation_codes: ObservationCodes
    readings_csv: ReadingsCsv
    roughness: RoughnessTable
    safety_sheet: SafetySheet
    shapes: Shapes
    usual_observations: UsualObservations
    visibility: VisibilityTable
