"""Reference topics of section, flow and clock."""

import math

from .. import tables
from ..survey.coding import clock
from ..survey.flow import colebrook, gradient_rules, open_flow
from ..survey.flow.resistance import Resistance
from ..survey.flow.sizing import boundary_shear
from ..survey.section import deposit
from ..survey.section.bore import Bore
from ..survey.section.shape import flow_section, full_section
from . import ovality, part_full, sizing
from .foul_flow import foul_flow
from .roughness import roughness_from_slope
from .watched import Values

GRAVITY_M_S2 = 9.80665
ONE_IN = "minimum_gradient_one_in"


def _colebrook(inputs: Values) -> Resistance:
    return Resistance(
        "colebrook_white",
        roughness_m=inputs["roughness_m"],
        viscosity_m2_s=inputs["kinematic_viscosity_m2_s"],
        gravity_m_s2=inputs["gravity_m_s2"],
    )


def _manning(inputs: Values) -> Resistance:
    return Resistance("manning", manning_n=inputs["manning_n"])


def _circle(inputs: Values, deposit_m: float = 0.0) -> Bore:
    return Bore("circular", inputs.get("diameter_m", 1.0), deposit_m=deposit_m)


def _full_section(inputs: Values) -> tuple[float, float]:
    section = full_section(_circle(inputs))
    return section["hydraulic_radius_m"], section["area_m2"]


def colebrook_white_full(inputs: Values) -> Values:
    """Evaluate velocity, discharge and friction factor of a full pipe."""
    flow = open_flow.full_flow(_circle(inputs), inputs["gradient"], _colebrook(inputs))
    across = 4 * flow["hydraulic_radius_m"]
    reynolds = flow["velocity_m_s"] * across / inputs["kinematic_viscosity_m2_s"]
    factor = colebrook.friction_factor(reynolds, inputs["roughness_m"] / across)
    return {**flow, "friction_factor": factor, "reynolds_number": reynolds}


def colebrook_white_part_full(inputs: Values) -> Values:
    """Evaluate velocity and discharge at a share of the depth."""
    bore = _circle(inputs)
    depth = bore.height_m * inputs["depth_ratio"]
    return {**open_flow.flow_at_depth(bore, depth, inputs["gradient"], _colebrook(inputs))}


def colebrook_friction_factor(inputs: Values) -> Values:
    """Evaluate the Darcy friction factor."""
    factor = colebrook.friction_factor(inputs["reynolds_number"], inputs["relative_roughness"])
    return {"friction_factor": factor}


def colebrook_head_loss(inputs: Values) -> Values:
    """Evaluate the head lost along a full pipe."""
    found = sizing.gradient_for_flow(_circle(inputs), inputs["discharge_m3_s"], _colebrook(inputs))
    return {"head_loss_m": found["gradient"] * inputs["length_m"]}


def colebrook_diameter(inputs: Values) -> Values:
    """Evaluate the diameter that carries a flow."""
    return {**sizing.diameter_for_flow(inputs["discharge_m3_s"], inputs["gradient"], _colebrook(inputs))}


def colebrook_roughness(inputs: Values) -> Values:
    """Evaluate the roughness from a measured head loss."""
    radius, area = _full_section(inputs)
    slope, velocity = inputs["head_loss_m"] / inputs["length_m"], inputs["discharge_m3_s"] / area
    viscosity, gravity = inputs["kinematic_viscosity_m2_s"], inputs["gravity_m_s2"]
    roughness = roughness_from_slope(radius, slope, velocity, viscosity, gravity)
    return {"roughness_m": roughness}


def circular_section_geometry(inputs: Values) -> Values:
    """Evaluate area, perimeter, width and hydraulic radius of a part-full circle."""
    bore = _circle(inputs)
    size = bore.height_m
    section = flow_section(bore, size * inputs["depth_ratio"])
    return {
        "flow_area_m2": section["area_m2"],
        "hydraulic_radius_m": section["hydraulic_radius_m"],
        "wetted_perimeter_m": section["wetted_perimeter_m"],
        "top_width_m": section["top_width_m"],
        "flow_area_over_d2": section["area_m2"] / (size * size),
        "hydraulic_radius_over_d": section["hydraulic_radius_m"] / size,
        "wetted_perimeter_over_d": section["wetted_perimeter_m"] / size,
        "top_width_over_d": section["top_width_m"] / size,
    }


def part_full_maximum(inputs: Values) -> Values:
    """Evaluate where a part-full circle carries most, or runs fastest, by Manning."""
    bore, rough = Bore("circular", 1.0), Resistance("manning", manning_n=0.013)
    if inputs["quantity"] == "velocity":
        return {**part_full.fastest(bore)}
    most, full = open_flow.greatest_flow(bore, 0.01, rough), open_flow.full_flow(bore, 0.01, rough)
    return {
        "depth_ratio": most["depth_m"],
        "discharge_ratio": most["discharge_m3_s"] / full["discharge_m3_s"],
    }


def part_full_equal_to_full(inputs: Values) -> Values:
    """Evaluate the lower depth at which a circle carries as much as full."""
    bore, rough = Bore("circular", 1.0), Resistance("manning", manning_n=0.013)
    full = open_flow.full_flow(bore, 0.01, rough)
    lower = open_flow.depth_for_flow(bore, full["discharge_m3_s"], 0.01, rough)["flow"]
    return {"depth_ratio": None if lower is None else lower["depth_m"]}


def proportional_depth(inputs: Values) -> Values:
    """Evaluate shares of the full flow at a share of the depth."""
    return {**part_full.proportions(_circle(inputs), inputs["depth_ratio"])}


def manning_full(inputs: Values) -> Values:
    """Evaluate velocity and discharge of a full pipe."""
    return {**open_flow.full_flow(_circle(inputs), inputs["gradient"], _manning(inputs))}


def manning_part_full(inputs: Values) -> Values:
    """Evaluate velocity, discharge and wetted angle of a part-full pipe."""
    bore = _circle(inputs)
    depth = bore.height_m * inputs["depth_ratio"]
    flow = open_flow.flow_at_depth(bore, depth, inputs["gradient"], _manning(inputs))
    angle = math.degrees(2 * flow["wetted_perimeter_m"] / bore.height_m)
    return {**flow, "segment_angle_deg": angle}


def manning_diameter(inputs: Values) -> Values:
    """Evaluate the diameter that carries a flow."""
    return {**sizing.diameter_for_flow(inputs["discharge_m3_s"], inputs["gradient"], _manning(inputs))}


def manning_gradient(inputs: Values) -> Values:
    """Evaluate the fall that a flow needs."""
    return sizing.gradient_for_flow(_circle(inputs), inputs["discharge_m3_s"], _manning(inputs))


def manning_normal_depth(inputs: Values) -> Values:
    """Evaluate normal and critical depth of a flow."""
    bore, flow = _circle(inputs), inputs["discharge_m3_s"]
    found = open_flow.depth_for_flow(bore, flow, inputs["gradient"], _manning(inputs))
    critical = open_flow.critical_flow(bore, flow, GRAVITY_M_S2)
    values = {"full_discharge_m3_s": found["full_m3_s"], "critical_depth_m": critical["depth_m"]}
    if found["flow"] is None:
        return {**values, "depth_m": None}
    return {**found["flow"], "flow_area_m2": found["flow"]["area_m2"], **values}


def manning_part_full_to_full(inputs: Values) -> Values:
    """Evaluate the full flow from a part-full one."""
    bore, ratio = _circle(inputs), inputs["depth_ratio"]
    shares = part_full.proportions(bore, ratio)
    section = flow_section(bore, bore.height_m * ratio)
    return {
        "full_discharge_m3_s": inputs["discharge_m3_s"] / shares["discharge_ratio"],
        "velocity_m_s": inputs["discharge_m3_s"] / section["area_m2"],
    }


def boundary_shear_values(inputs: Values) -> Values:
    """Evaluate the shear stress on the wetted wall."""
    radius = inputs.get("hydraulic_radius_m")
    if radius is None:
        bore = _circle(inputs)
        radius = flow_section(bore, bore.height_m * inputs["depth_ratio"])["hydraulic_radius_m"]
    gravity = inputs.get("gravity_m_s2", GRAVITY_M_S2)
    density = inputs.get("density_kg_m3") or inputs["unit_weight_n_m3"] / gravity
    shear = boundary_shear(radius, inputs["gradient"], density, gravity)
    return {"shear_stress_pa": shear, "hydraulic_radius_m": radius}


def minimum_slope_velocity(inputs: Values) -> Values:
    """Evaluate the velocity of a full pipe at a least slope."""
    velocity = manning_full(inputs)["velocity_m_s"]
    return {"velocity_m_s": velocity, "reaches_0_6096_m_s": velocity >= 0.6096}


def minimum_gradient_rule(inputs: Values) -> Values:
    """Evaluate the least gradient that a rule asks for."""
    if "rule" in inputs:
        return {ONE_IN: gradient_rules.one_in_diameter(inputs["nominal_diameter_m"])["one_in"]}
    rows = tables.load("minimum_gradients")["foul_drains"]
    size, flow, wcs = inputs["diameter_m"], inputs["peak_flow_m3_s"], inputs["wcs_connected"]
    return {ONE_IN: gradient_rules.least_gradient(rows, size, flow, wcs)["one_in"]}


def foul_flow_from_dwellings(inputs: Values) -> Values:
    """Evaluate the peak foul flow of numbers of dwellings."""
    rows = tables.load("minimum_gradients")["foul_flows"]
    return {"peak_flow_m3_s": [foul_flow(rows, n)["peak_flow_m3_s"] for n in inputs["dwellings"]]}


def area_lost_to_deposit(inputs: Values) -> Values:
    """Evaluate the area that a deposit takes."""
    size = inputs.get("diameter_m", 1.0)
    depth = inputs["deposit_depth_m"] if "deposit_depth_m" in inputs else size * inputs["deposit_depth_ratio"]
    lost = deposit.area_lost_to_deposit(_circle(inputs, depth))
    return {"deposit_area_m2": lost["deposit_area_m2"], "area_lost_percent": lost["area_lost_pct"]}


def deposit_depth_from_area(inputs: Values) -> Values:
    """Evaluate the depth of a deposit from the area that it takes."""
    bore = _circle(inputs)
    depth = deposit.deposit_depth_from_area(bore, inputs["area_lost_percent"])
    return {"deposit_depth_ratio": depth / bore.height_m, "deposit_depth_m": depth}


def ovality_values(inputs: Values) -> Values:
    """Evaluate ovality in both definitions."""
    sizes = (inputs["maximum_diameter_m"], inputs["minimum_diameter_m"], inputs["mean_diameter_m"])
    found = ovality.ovality(*sizes)
    return {
        "ovality_from_maximum_percent": found["from_maximum_pct"],
        "ovality_from_minimum_percent": found["from_minimum_pct"],
        "ovality_of_range_percent": found["of_range_pct"],
    }


def deformation(inputs: Values) -> Values:
    """Evaluate deformation against the original diameter."""
    found = ovality.deformation(
        inputs["original_diameter_m"], inputs["vertical_diameter_m"], inputs["horizontal_diameter_m"]
    )
    return {
        "vertical_deformation_percent": found["vertical_deformation_pct"],
        "horizontal_deformation_percent": found["horizontal_deformation_pct"],
    }


def ovality_reduction_factor(inputs: Values) -> Values:
    """Evaluate the reduction factor of an oval liner."""
    return {"reduction_factor": ovality.ovality_reduction_factor(inputs["ovality_percent"])}


def area_lost_to_ovality(inputs: Values) -> Values:
    """Evaluate the area that an oval pipe loses."""
    return {"area_lost_percent": ovality.area_lost_to_ovality(inputs["ovality_percent"])}


def clock_position(inputs: Values) -> Values:
    """Evaluate the true clock position for a camera off the axis."""
    found = clock.true_position(
        inputs["radius_m"],
        inputs["camera_height_above_invert_m"],
        inputs.get("camera_offset_right_m", 0.0),
        inputs["view_angle_from_vertical_deg"],
    )
    return {
        "true_angle_deg": found["true_deg"],
        "true_clock_hours": found["true_hours"],
        "apparent_clock_hours": found["apparent_hours"],
        "nearest_hour": found["nearest_hour"],
        "wall_distance_m": found["wall_distance_m"],
    }


TOPICS = {
    "colebrook_white_full": colebrook_white_full,
    "colebrook_white_part_full": colebrook_white_part_full,
    "colebrook_friction_factor": colebrook_friction_factor,
    "colebrook_head_loss": colebrook_head_loss,
    "colebrook_diameter": colebrook_diameter,
    "colebrook_roughness": colebrook_roughness,
    "circular_section_geometry": circular_section_geometry,
    "part_full_maximum": part_full_maximum,
    "part_full_equal_to_full": part_full_equal_to_full,
    "proportional_depth": proportional_depth,
    "manning_full": manning_full,
    "manning_part_full": manning_part_full,
    "manning_diameter": manning_diameter,
    "manning_gradient": manning_gradient,
    "manning_normal_depth": manning_normal_depth,
    "manning_part_full_to_full": manning_part_full_to_full,
    "boundary_shear": boundary_shear_values,
    "minimum_slope_velocity": minimum_slope_velocity,
    "minimum_gradient_rule": minimum_gradient_rule,
    "foul_flow_from_dwellings": foul_flow_from_dwellings,
    "capacity_at_minimum_gradient": colebrook_white_part_full,
    "area_lost_to_deposit": area_lost_to_deposit,
    "deposit_depth_from_area": deposit_depth_from_area,
    "ovality": ovality_values,
    "deformation": deformation,
    "ovality_reduction_factor": ovality_reduction_factor,
    "area_lost_to_ovality": area_lost_to_ovality,
    "clock_position": clock_position,
}
