"""Generated bores, resistances and runs, sound and unsound, for the section and flow modules."""

import math

from hypothesis import strategies as st

from webapp import tables
from webapp.survey.flow import capacity, culvert_inlet
from webapp.survey.flow.resistance import Resistance
from webapp.survey.section import bore as bores

NAN, INF = math.nan, math.inf
WRONG = [NAN, INF, -INF, None, "0.3", True, 0, -1.0, 1e-300, 1e300]
sizes = st.floats(0.05, 3.0)
ratios = st.floats(0.0, 1.0)
gradients = st.floats(math.log(1e-4), math.log(0.2)).map(math.exp)
INLETS = tables.load("culvert_inlets")["rows"]


@st.composite
def clean_bores(draw, kinds=bores.KINDS):
    """Bores that can be, as plain values."""
    kind = draw(st.sampled_from(kinds))
    height = draw(sizes)
    if kind == "circular":
        return {"kind": kind, "height_m": height, "width_m": draw(st.sampled_from([None, height]))}
    low, high = {"egg": (0.4, 0.95), "oval": (0.2, 1.0), "elliptical": (0.4, 2.5)}.get(kind, (0.3, 3.0))
    width = height * draw(st.floats(low, high))
    return {"kind": kind, "height_m": height, "width_m": width}


@st.composite
def some_bores(draw, kinds=bores.KINDS):
    """Bores that can be, some with a deposit."""
    found = draw(clean_bores(kinds))
    share = draw(st.sampled_from([0.0, 0.0, 0.1, 0.35]))
    return {**found, "deposit_m": found["height_m"] * share}


@st.composite
def wrong_bores(draw):
    """Bores of which one value may be anything."""
    found = draw(some_bores())
    found["height_m"] = draw(st.sampled_from([found["height_m"], *WRONG]))
    found["width_m"] = draw(st.sampled_from([found["width_m"], found["width_m"], *WRONG]))
    found["deposit_m"] = draw(st.sampled_from([found["deposit_m"], 0.0, *WRONG]))
    found["kind"] = draw(st.sampled_from([found["kind"], found["kind"], *bores.KINDS, "", "pear"]))
    return found


resistances = st.one_of(
    st.fixed_dictionaries({"law": st.just("manning"), "manning_n": st.floats(0.008, 0.05)}),
    st.fixed_dictionaries(
        {
            "law": st.just("colebrook_white"),
            "roughness_m": st.sampled_from([0.0, 3e-5, 0.0006, 0.0015, 0.003, 0.015]),
            "viscosity_m2_s": st.floats(0.8e-6, 1.6e-6),
            "gravity_m_s2": st.sampled_from([9.80665, 9.81]),
        }
    ),
    st.fixed_dictionaries({"law": st.just("colebrook_white"), "roughness_m": st.floats(1e-5, 0.005)}),
)
wrong_resistances = st.fixed_dictionaries(
    {
        "law": st.sampled_from(["manning", "colebrook_white", "other", None]),
        "roughness_m": st.sampled_from([0.0015, *WRONG]),
        "manning_n": st.sampled_from([0.013, *WRONG]),
        "viscosity_m2_s": st.sampled_from([1.3e-6, *WRONG]),
        "gravity_m_s2": st.sampled_from([9.81, *WRONG]),
    }
)
anything = st.one_of(st.sampled_from(WRONG), st.floats(), st.floats(-1, 1))


@st.composite
def stretches(draw):
    """A stretch whose fall is known, bounded, adverse or unknown."""
    bore = draw(some_bores())
    low, mean, high = sorted(draw(st.lists(st.floats(-0.005, 0.05), min_size=3, max_size=3)))
    keep = draw(st.sampled_from(["lmh", "lmh", "lh", "h", "l", "m", "", "lmh"]))
    found = {
        "bore": bore,
        "resistance": draw(resistances),
        "gradient_low": low if "l" in keep else None,
        "gradient": mean if "m" in keep else None,
        "gradient_high": high if "h" in keep else None,
        "gradient_known": draw(st.sampled_from(capacity.KNOWN)),
    }
    if bore["kind"] == "elliptical":
        size = (bore["height_m"] + bore["width_m"]) / 2
        found["original"] = {"kind": "circular", "height_m": size, "width_m": size}
    return found


@st.composite
def culverts(draw):
    """A short culvert with an inlet of the table that fits its shape."""
    row = draw(st.sampled_from(INLETS))
    bore = draw(some_bores([kind for kind in bores.KINDS if kind in row["shapes"]]))
    return {
        "bore": bore,
        "length_m": draw(st.floats(2, 80)),
        "gradient": draw(st.floats(-0.01, 0.05)),
        "resistance": draw(resistances),
        "inlet": row,
        "exit_loss": draw(st.sampled_from([1.0, 0.8])),
    }


def bore_of(values):
    """Return the bore of plain values."""
    return bores.Bore(**values)


def resistance_of(values):
    """Return the resistance of plain values."""
    return Resistance(**values)


def stretch_of(values):
    """Return the stretch of plain values."""
    original = values.get("original")
    parts = {"bore": bore_of(values["bore"]), "resistance": resistance_of(values["resistance"])}
    return capacity.Stretch(**{**values, **parts, "original": bore_of(original) if original else None})


def culvert_of(values):
    """Return the culvert of plain values."""
    parts = {"bore": bore_of(values["bore"]), "resistance": resistance_of(values["resistance"])}
    return culvert_inlet.Culvert(**{**values, **parts})
