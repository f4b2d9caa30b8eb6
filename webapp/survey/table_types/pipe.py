"""The tables of pipes: their kinds, walls, gradients and inlets."""

from collections.abc import Sequence
from typing import Literal, NotRequired, TypedDict

from ..records import Lining, Material, Shape
from .sourced import Sourced

NarrowingForm = Literal["deposit_depth", "deformation", "smaller_bore", "raised_invert", "step", "intrusion"]


# culvert_inlets.json


class CulvertInlet(Sourced):
    """The constants of an inlet under inlet control, and its loss at the entrance."""

    value: str
    label: str
    shapes: Sequence[Literal["arch", "circular", "elliptical", "rectangular"]]
    chart: int | str
    scale: int | str
    form: Literal[1, 2]
    k: float
    m: float
    c: float
    y: float
    slope_factor: float
    entrance_loss: float
    entrance_loss_source: str
    entrance_loss_certainty: str


class CulvertInlets(TypedDict):
    """The inlets of culverts."""

    title: str
    note: str
    url: str
    rows: Sequence[CulvertInlet]


# joint_deflections.json, roughness.json, minimum_gradients.json, narrowings.json


class JointDeflection(Sourced):
    """How straight pipes of a material lie, joint by joint."""

    material: Material | Literal[""]
    pipe_length_m: float
    sd_deg: float


class JointDeflections(TypedDict):
    """How straight pipes lie."""

    title: str
    note: str
    rows: Sequence[JointDeflection]


class Roughness(TypedDict):
    """The roughness of a wall: k_s [mm] and Manning's n."""

    value: str
    label: str
    materials: Sequence[Material]
    k_s_good_mm: float | None
    k_s_mm: float
    k_s_poor_mm: float | None
    k_s_source: str
    k_s_certainty: str
    k_s_url: str | None
    manning_n_low: float | None
    manning_n: float | None
    manning_n_high: float | None
    manning_n_source: str | None
    manning_n_certainty: str | None
    manning_n_url: str | None


class RoughnessTable(TypedDict):
    """The roughness of walls."""

    title: str
    note: str
    rows: Sequence[Roughness]


class FoulDrain(Sourced):
    """The least gradient of a foul drain of some diameters."""

    diameters_mm: Sequence[float]
    flow_below_m3_s: float | None
    flow_from_m3_s: float
    wcs_at_least: int
    one_in: float
    capacity_m3_s: float
    url: str


class SurfaceWaterDrain(Sourced):
    """The least gradient of a surface water drain of some diameters."""

    diameters_mm: Sequence[float]
    one_in: float


class GradientRule(Sourced):
    """A rule of thumb for a least gradient."""

    rule: str


class FoulFlow(Sourced):
    """The foul flow of a number of dwellings."""

    dwellings: int
    flow_m3_s: float
    url: str


class SelfCleansing(Sourced):
    """A rule by which a drain keeps itself clean."""

    value: str
    label: str
    least_velocity_m_s: float | None
    least_shear_pa: float | None
    diameter_below_m: float | None
    url: NotRequired[str]


class MinimumGradients(TypedDict):
    """Least gradients, and the rules of self-cleansing."""

    title: str
    note: str
    foul_drains: Sequence[FoulDrain]
    surface_water_drains: Sequence[SurfaceWaterDrain]
    one_in_dn: GradientRule
    foul_flows: Sequence[FoulFlow]
    self_cleansing: Sequence[SelfCleansing]


class Narrowing(TypedDict):
    """How an observation narrows the pipe."""

    code: str
    characterisation_1: Sequence[str]
    characterisation_2: Sequence[str]
    form: NarrowingForm | Literal["blocks", "unsized"]


class Narrowings(Sourced):
    """Which observations narrow the pipe, and how well their size is estimated."""

    title: str
    note: str
    estimate_pct: float
    estimate_mm: float
    estimate_note: str
    rows: Sequence[Narrowing]


# linings.json, materials.json, shapes.json


class LiningRow(Sourced):
    """A lining, and its letter."""

    value: Lining
    label: str
    code: str


class MaterialRow(Sourced):
    """A material, and its letters."""

    value: Material
    label: str
    code: str


class ShapeRow(Sourced):
    """A shape, and its letter."""

    value: Shape
    label: str
    code: str


class Linings(TypedDict):
    """The linings."""

    title: str
    rows: Sequence[LiningRow]


class Materials(TypedDict):
    """The materials of pipes."""

    title: str
    rows: Sequence[MaterialRow]


class Shapes(TypedDict):
    """The shapes of pipes."""

    title: str
    rows: Sequence[ShapeRow]
