"""Runs to grade, generated: any code of the table, complete or not, on stretches described or not."""

from hypothesis import strategies as st

from webapp.survey.grading.graded_pieces import GradingFacts
from webapp.survey.grading.run_grading import run_grading
from webapp.tables import shipped

SCHEME = shipped("grading_limits")
ACTIONS = shipped("actions")
CODES = shipped("observation_codes")["rows"]
HAZARDS = shipped("hazards")["rows"]
GRADED = sorted({row["code"] for row in SCHEME["rows"]})
places = st.integers(0, 60).map(lambda n: n / 2)
sizes = st.one_of(
    st.integers(0, 120), st.sampled_from([0, 0.5, 2.5, 99.99, 100]), st.floats(0, 120), st.none()
)
hours = st.integers(1, 12)


def grade(*facts):
    """The condition of a run from what is known of it, by our own tables."""
    return run_grading(GradingFacts(*facts), CODES, SCHEME)


def _without(fields):
    return {k: v for k, v in fields.items() if v is not None}


@st.composite
def observations(draw, continuous=True):
    """Fields of one observation; half of them as the code table allows, the rest with gaps."""
    row = draw(st.sampled_from(CODES))
    fields = {"code": row["code"], "counter_m": draw(places), "quantification_1": draw(sizes)}
    for name in ("characterisation_1", "characterisation_2"):
        letters = [one["value"] for one in row[name]]
        fields[name] = draw(st.sampled_from([*letters, *letters, None])) if letters else None
    if draw(st.integers(0, 19)) == 0:
        del fields["counter_m"]
    fields["at_joint"] = draw(st.sampled_from([True, False, None]))
    if draw(st.booleans()):
        fields["clock"] = _without({"hour_from": draw(hours), "hour_to": draw(st.one_of(st.none(), hours))})
    if continuous and draw(st.integers(0, 3)) == 0:
        role = draw(st.sampled_from(["start", "change", "finish"]))
        fields["continuous"] = {"role": role, "number": draw(st.integers(1, 2))}
    return _without(fields)


def _standing(*values):
    """Values in dispute, each with the entry that set it."""
    some = st.lists(st.sampled_from([None, *values]), min_size=2, max_size=3, unique=True)
    return some.map(lambda found: [[f"w:{k}", value] for k, value in enumerate(found)])


conflicts = st.fixed_dictionaries(
    {},
    optional={
        "quantification_1": _standing(0, 25, 30, 60),
        "characterisation_1": _standing("A", "B", "C", "G"),
        "code": _standing("BBA", "BAP", "BAC", "BCA"),
        "remark": _standing("one", "two"),
    },
)


pipe_conflicts = st.fixed_dictionaries(
    {},
    optional={
        "height_mm": _standing(100, 300, 600),
        "material": _standing("concrete", "pvc_u"),
        "shape": _standing("circular", "egg"),
    },
)


@st.composite
def stretches(draw):
    """Fields of one stretch."""
    start = draw(places)
    fields = {
        "from_counter_m": start,
        "to_counter_m": draw(st.one_of(st.none(), st.integers(1, 60).map(lambda n: start + n / 2))),
        "shape": draw(st.sampled_from(["circular", "circular", "egg", "rectangular", "oval", "other", None])),
        "height_mm": draw(st.sampled_from([100, 150, 300, 900, None])),
        "width_mm": draw(st.sampled_from([None, 100, 300, 900])),
        "material": draw(st.sampled_from(["vitrified_clay", "concrete", "pvc_u", "other", None])),
    }
    if fields["shape"] in ("circular", "egg", "oval"):
        fields["width_mm"] = None if fields["shape"] != "oval" else (fields["height_mm"] or 300) / 2
    return _without(fields)


@st.composite
def runs(draw, most=6):
    """Fields of a run, its stretches and its observations as records."""
    run = _without(
        {
            "water_carried": draw(st.sampled_from([None, "unknown", "foul", "surface_water"])),
            "protection_zone": draw(st.sampled_from([None, "outside", "II"])),
            "groundwater": draw(st.sampled_from([None, "below"])),
            "soil": draw(st.sampled_from([None, "sandy_loam"])),
        }
    )
    pipes = [{"id": f"s{k}", "fields": f} for k, f in enumerate(draw(st.lists(stretches(), max_size=3)))]
    for one in pipes:
        if draw(st.integers(0, 4)) == 0:
            one["conflicts"] = draw(pipe_conflicts)
    seen = [
        {"id": f"o{k}", "fields": f}
        for k, f in enumerate(draw(st.lists(observations(), min_size=most, max_size=most)))
    ]
    for one in seen:
        if draw(st.integers(0, 3)) == 0:
            one["conflicts"] = draw(conflicts)
    carried = [
        {"id": one["id"], "gradient": draw(st.sampled_from([None, -0.01, 0.00001, 0.004, 0.02])),
         "roughness_mm": draw(st.sampled_from([None, 0.06, 1.5, 6.0]))}
        for one in pipes
    ]  # fmt: skip
    return {
        "run": run, "stretches": pipes, "observations": seen, "carried": carried,
        "end_counter_m": draw(st.one_of(st.none(), st.just(31.0))),
        "scale": draw(st.sampled_from([1.0, 0.996, 1.01])),
    }  # fmt: skip


levels = st.fixed_dictionaries(
    {
        "far_m": st.just(30.25), "now_sd_m": st.sampled_from([None, 0.01, 0.0725, 0.3]),
        "then_sd_m": st.sampled_from([None, 0.0195]), "both_ends": st.booleans(),
        "gaps_m": st.sampled_from([[], [12.0], [12.0, 14.55]]),
        "radius_m": st.sampled_from([None, 1.5, 6.4]),
    }
)  # fmt: skip
