"""Runs whose capacity is asked for: even, with backfalls, narrowed, in dispute; by hand and generated."""

from hypothesis import strategies as st

from webapp.survey.coding.continuous import continuous_items
from webapp.survey.coding.run_end import closed_stretches
from webapp.survey.coding.visibility import SightFacts, visibility
from webapp.survey.errors import SurveyError
from webapp.survey.flow.capacity_limits import CapacityFacts, limited_capacity
from webapp.survey.flow.run_capacity import run_capacity
from webapp.survey.instruments.instruments import instruments_of
from webapp.survey.levels.levels import level_profile
from webapp.survey.levels.run_model import run_model
from webapp.tables import shipped

ROUGH, NARROW, SIGHT, SCHEME = (
    shipped("roughness")["rows"], shipped("narrowings"), shipped("visibility"), shipped("grading_limits"),
)  # fmt: skip
TOOLS = instruments_of([], "run")
PIPE = {"from_counter_m": 0.0, "to_counter_m": 40.0, "shape": "circular", "height_mm": 300,
        "size_known": "measured", "material": "concrete"}  # fmt: skip
CRACK = {"code": "BAB", "counter_m": 0.5}


def records(*fields):
    return [{"id": f"{k:02d}", "fields": one} for k, one in enumerate(fields)]


def fall(*pairs):
    """Readings: counter and degrees, falling positive."""
    return [
        {
            "counter_m": m,
            "inclination": {"size": abs(d), "unit": "deg", "sense": "falling" if d >= 0 else "rising"},
        }
        for m, d in pairs
    ]


EVEN = fall(*((float(m), 0.6) for m in range(0, 41, 2)))
NODES = [
    {"id": "a", "fields": {"cover_level_m": 1.8}},
    {"id": "b", "fields": {"cover_level_m": 2.5}},
]
ENDS = {"start_node_id": "a", "finish_node_id": "b", "end_reason": "node_reached"}


def worked(read=EVEN, seen=(CRACK,), pipes=(PIPE,), run=None, conflicts=None, end_m=40.0, nodes=()):
    run = {"direction": "with_flow", "end_counter_m": end_m} | (run or {})
    observed, lengths = records(*seen), closed_stretches(records(*pipes), end_m)
    if conflicts:
        observed[-1]["conflicts"] = conflicts
    model = run_model(run, records(*read), [], lengths, [], TOOLS)
    try:
        profile = level_profile(model.readings, model.ties, model.setup) if model.readings else None
    except SurveyError:
        profile = None
    items = continuous_items(observed, end_m)["items"]
    account = visibility(SightFacts(run, lengths, observed, items, end_m, TOOLS.scale), SIGHT)
    facts = CapacityFacts(
        run, lengths, observed, items, account, end_m, profile, TOOLS.scale, nodes, bool(nodes)
    )
    plain = run_capacity(run, lengths, observed, ROUGH, profile, TOOLS)
    return plain, facts, limited_capacity(plain, facts, ROUGH, NARROW)


def carried(*seen, **more):
    row = worked(seen=(CRACK, *seen), **more)[2]["rows"][0]
    return row["capacity"]["mean_m3_s"] if row["capacity"] else None


CLEAN = carried()


def found_reason(found, code):
    return next(one["without_m3_s"] for one in found["bottleneck"]["reasons"] if one["code"] == code)


metres = st.sampled_from([0.0, 4.0, 9.5, 10.0, 20.0, 30.0, 40.0])
some = st.fixed_dictionaries(
    {"code": st.sampled_from([*(row["code"] for row in NARROW["rows"]), "BAB", "BDG", "BDD"])},
    optional={
        "counter_m": metres,
        "characterisation_1": st.sampled_from(["A", "B", "C", "D", "E"]),
        "characterisation_2": st.sampled_from(["A", "B", "C"]),
        "quantification_1": st.sampled_from([0, 4, 15, 40, 90, 120]),
        "continuous": st.fixed_dictionaries(
            {"role": st.sampled_from(["start", "change", "finish"]), "number": st.just(1)}
        ),
    },
)
pipes = st.lists(
    st.fixed_dictionaries(
        {"from_counter_m": metres, "shape": st.sampled_from(["circular", "circular", "egg", "arch"])},
        optional={
            "to_counter_m": metres, "height_mm": st.sampled_from([150, 300, 600]),
            "roughness_mm": st.just(0.6),
            "width_mm": st.just(200), "material": st.sampled_from(["concrete", "grey_iron", "pvc_u"]),
            "size_known": st.sampled_from(["measured", "drawing", "assumed"]),
        },
    ),
    min_size=1, max_size=2,
)  # fmt: skip
readings = st.lists(
    st.tuples(metres, st.sampled_from([-2.0, -0.2, 0.0, 0.3, 0.6, 3.0])), min_size=2, max_size=6,
    unique_by=lambda pair: pair[0],
).map(lambda pairs: fall(*sorted(pairs)))  # fmt: skip
case = (
    readings, st.lists(some, max_size=4), pipes, st.sampled_from(["with_flow", "against_flow"]),
    st.sampled_from([None, "foul", "surface_water"]), st.sampled_from([None, 40.0]),
)  # fmt: skip
