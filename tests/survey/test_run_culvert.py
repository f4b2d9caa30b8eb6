"""A stretch as a short culvert: against the published method by hand, and the same on both sides."""

import pytest
from hypothesis import strategies as st
from parity import parity
from twins import agree

from webapp import tables
from webapp.survey.errors import SurveyError
from webapp.survey.flow.run_culvert import inlets_for, run_culvert

INLETS = tables.load("culvert_inlets")["rows"]
ROW = {
    "bore": {"kind": "circular", "height_m": 0.9, "width_m": None, "deposit_m": 0.0}, "roughness_mm": 0.6,
    "gradient_low": 0.015, "gradient": 0.02, "gradient_high": 0.025, "gradient_known": "computed",
}  # fmt: skip


def inlet(value):
    return next(row for row in INLETS if row["value"] == value)


def test_under_inlet_control_by_hand():
    """Submerged form of HDS-5: HW/D = c P^2 + Y - 0.5 S, P = 1.811 Q / (A sqrt(D)).

    HW 1.8 m over D 0.9 m is 2.0; c 0.0398, Y 0.67, S 0.02: P^2 = 1.34 / 0.0398 = 33.67, P = 5.802;
    A 0.6362 m2, sqrt(D) 0.9487: Q = 5.802 x 0.6362 x 0.9487 / 1.811 = 1.934 m3/s.
    """
    found = run_culvert(ROW, 20.0, inlet("concrete_pipe_square_headwall"), 1.8, 0.0)
    assert found["control"] == "inlet"
    assert found["state"] == "submerged"
    assert found["discharge_m3_s"] == pytest.approx(1.934, abs=0.003)
    assert found["low_m3_s"] <= found["discharge_m3_s"] <= found["high_m3_s"]
    assert found["known"] == "computed"


def test_a_deep_tailwater_turns_it_to_outlet_control():
    found = run_culvert(ROW, 20.0, inlet("concrete_pipe_square_headwall"), 1.8, 1.7)
    assert found["control"] == "outlet"


def test_how_the_fall_is_known_carries_over():
    found = run_culvert(ROW | {"gradient_known": "assumed"}, 20.0, INLETS[0], 1.2, 0.0)
    assert found["known"] == "assumed"


@pytest.mark.parametrize(
    ("change", "code"), [({"bore": None}, "bore_unknown"), ({"gradient": None}, "gradient_unknown")]
)
def test_what_is_missing_is_named(change, code):
    with pytest.raises(SurveyError) as caught:
        run_culvert(ROW | change, 20.0, INLETS[0], 1.2, 0.0)
    assert caught.value.code == code


def test_inlets_go_with_their_shape():
    assert {"circular"} == {s for row in inlets_for(INLETS, "circular") for s in row["shapes"]}
    assert inlets_for(INLETS, "rectangular")


@parity(
    "flow/run_culvert",
    st.sampled_from(inlets_for(INLETS, "circular")),
    st.floats(0.15, 3),
    st.floats(0.01, 6),
    st.floats(0, 3),
    st.floats(1, 80),
    st.floats(-0.01, 0.1),
    st.floats(0, 0.02),
    cases=400,
)
def test_both_sides_agree(twin, row, height_m, headwater_m, tailwater_m, length_m, gradient, band):
    stretch = ROW | {
        "bore": ROW["bore"] | {"height_m": height_m}, "gradient": gradient, "gradient_low": gradient - band,
        "gradient_high": gradient + band,
    }  # fmt: skip
    agree(
        twin,
        "survey/flow/run_culvert",
        "run_culvert",
        run_culvert,
        stretch,
        length_m,
        row,
        headwater_m,
        tailwater_m,
    )
