"""fallbook selfcheck: what it computes, what it says of a bad value, and of a bad file."""

import copy
import json
import math

import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st
from reference import all_cases, cases

from webapp.cli import main
from webapp.selfcheck import levelling, reference
from webapp.selfcheck.topics import topics


def run(*args):
    return CliRunner().invoke(main, ["selfcheck", *map(str, args)])


def written(folder, value):
    path = folder / "values.json"
    path.write_text(value if isinstance(value, str) else json.dumps(value), encoding="utf-8")
    return path


def test_everything_that_is_computed_is_met():
    done = run("--json")
    report = json.loads(done.stdout)
    assert [row["id"] for row in report["rows"] if row["ok"] is False] == []
    assert done.exit_code == 0
    assert report["ok"] and report["met"] + report["not_computed"] == len(all_cases())
    known = topics()
    for row in report["rows"]:
        assert (row["ok"] is None) == (row["topic"] not in known)
        assert row["source"]["confidence"]
    assert {"plan_trace", "geodesic_direct", "grid_convergence", "traverse_bowditch"} <= known.keys()
    assert report["topics_not_computed"] == sorted({c["topic"] for c in all_cases()} - known.keys())


def test_lines_name_the_value_its_tolerance_and_its_source():
    done = run()
    assert done.exit_code == 0
    assert "GD-001  geodesic_direct  ok" in done.stdout
    assert "Karney, C. F. F., 2010, Test set for geodesics" in done.stdout
    assert "tolerance 1e-09" in done.stdout


@pytest.mark.parametrize("topic", ["plan_trace", "geodesic_direct", "grid_convergence", "traverse_bowditch"])
def test_a_wrong_value_is_seen(tmp_path, topic):
    case = copy.deepcopy(cases(topic)[0])
    key = next(k for k, v in case["expected"].items() if isinstance(v, float))
    case["expected"][key] += 2 * case["tolerance"][key] + 1e-9
    done = run(written(tmp_path, [case]))
    assert done.exit_code == 1
    assert f"{case['id']}  {topic}  FAILED" in done.stdout
    assert done.stdout.count("<- not met") == 1


def test_a_wrong_function_is_seen():
    figures = topics() | {
        "grid_convergence": lambda inputs: {"convergence_deg": math.nan * len(list(inputs))}
    }
    rows = reference.evaluate(cases("grid_convergence"), figures)
    assert {row.ok for row in rows} == {False}
    assert rows[0].as_json()["computed"] == {"convergence_deg": "nan"}


def test_a_topic_nobody_computes_is_listed_and_does_not_fail(tmp_path):
    value = {"id": "X-1", "topic": "tides", "inputs": {}, "expected": {"height_m": 1.0}, "tolerance": {}}
    done = run(written(tmp_path, [value]))
    assert done.exit_code == 0
    assert "not computed by Fallbook: tides (1)" in done.stdout
    assert "0 met, 0 failed, 1 not computed" in done.stdout


def error_of(case, **inputs):
    [row] = reference.evaluate([case | {"inputs": case["inputs"] | inputs}])
    assert row.ok is (row.error is None) or row.failed
    return row.error


@pytest.mark.parametrize("topic", sorted(topics()))
def test_an_input_that_nobody_asks_for_is_an_error_and_never_passed_over(topic):
    assert error_of(cases(topic)[0]) is None
    assert error_of(cases(topic)[0], closing_north_m=5.0) == "input_unknown closing_north_m"


def test_an_unknown_input_within_another_one_is_named_with_it():
    case = next(one for one in cases("uncertain_profile") if one["inputs"]["ties"])
    ties = [tie | {"sd_m": 0.01} for tie in case["inputs"]["ties"]]
    assert error_of(case, ties=ties) == "input_unknown ties.sd_m"


def test_what_a_value_only_tells_must_be_what_was_computed():
    assert error_of(cases("geodesic_direct")[0], ellipsoid="Bessel 1841") == "input_unknown ellipsoid"
    full = next(one for one in cases("colebrook_white_full") if "gradient_one_in" in one["inputs"])
    assert error_of(full, gradient_one_in=77) == "inputs_differ gradient_one_in"
    assert error_of(cases("plan_trace")[0], name="another") is None


def test_a_link_traverse_without_its_end_is_an_error_and_not_a_misclosure_of_its_length():
    link = next(one for one in cases("traverse_bowditch") if "end_northing_m" in one["inputs"])
    inputs = {k: v for k, v in link["inputs"].items() if not k.startswith("end_")}
    [row] = reference.evaluate([link | {"inputs": inputs}])
    assert (row.ok, row.error, row.computed) == (False, "traverse_not_closed", None)
    half = {k: v for k, v in link["inputs"].items() if k != "end_easting_m"}
    assert reference.evaluate([link | {"inputs": half}])[0].error == "input_missing end_easting_m"


def test_a_net_of_levels_says_how_much_of_each_error_would_show():
    rises = [
        levelling.Rise("A", "P", 1.0, 1.0),
        levelling.Rise("A", "P", 1.2, 3.0),
        levelling.Rise("P", "Q", 2.0, 1.0),
    ]
    net = levelling.adjust_net({"A": 10.0}, rises)
    assert net.redundancy == pytest.approx([0.75, 0.25, 0.0]) and sum(net.redundancy) == pytest.approx(1)
    assert net.residual_m == pytest.approx([0.15, -0.05, 0.0])


def test_directions_go_round():
    assert reference.meets("azimuth_deg", 359.99999, 0.0, 1e-4)
    assert reference.meets(
        "bend_ellipses95", [{"azimuth_deg": 179.99999}], [{"azimuth_deg": 0.0}], {"azimuth_deg": 1e-4}
    )
    assert not reference.meets("azimuth_deg", 180.0, 0.0, 1e-4)
    assert not reference.meets("end_e_m", 360.0, 0.0, 1e-4)


def test_null_means_not_defined():
    assert reference.meets("z_m", [None, 1.0], [None, 1.0], 0.1)
    assert not reference.meets("z_m", [0.0, 1.0], [None, 1.0], 0.1)
    assert not reference.meets("z_m", [1.0], [1.0, 1.0], 0.1)
    assert not reference.meets("ok", 1, True, 0.1)


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("", "file_not_json"),
        ("{", "file_not_json"),
        ("[NaN]", "file_not_json"),
        ("[" * 100_000, "file_not_json"),
        ("{}", "reference_file_kind"),
        ("[]", "reference_file_kind"),
        ("[1]", "reference_malformed"),
        ('[{"id": "a", "topic": "t", "inputs": {}, "expected": {}}]', "reference_malformed"),
        ('[{"id": "a", "topic": "t", "inputs": {}, "expected": {"x": 1e999}}]', "reference_malformed"),
        (
            '[{"id": "a", "topic": "t", "inputs": {}, "expected": {"x": 1}, "tolerance": -1}]',
            "reference_malformed",
        ),
    ],
)
def test_a_bad_file_is_one_clear_line_with_a_code(tmp_path, text, code):
    done = run(written(tmp_path, text))
    assert done.exit_code == 2
    assert f"[{code}]" in done.stderr
    assert "Traceback" not in done.output


def test_a_file_that_is_not_there_or_not_text(tmp_path):
    (tmp_path / "b.json").write_bytes(b"\xff\xfe\x00")
    for path, code in (
        (tmp_path / "no.json", "file_unreadable"),
        (tmp_path, "file_unreadable"),
        (tmp_path / "b.json", "file_not_json"),
    ):
        done = run(path)
        assert (done.exit_code, f"[{code}]" in done.stderr) == (2, True)


def test_a_good_value_beside_a_bad_one_is_still_computed(tmp_path):
    done = run(written(tmp_path, [cases("grid_convergence")[1], {"id": ""}]))
    assert done.exit_code == 2
    assert "GD-017  grid_convergence  ok" in done.stdout
    assert "value 2: id must be text [reference_malformed]" in done.stderr


junk = st.recursive(
    st.one_of(st.none(), st.booleans(), st.integers(), st.floats(), st.text(max_size=3)),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3), st.dictionaries(st.text(max_size=3), inner, max_size=3)
    ),
    max_leaves=6,
)


@settings(max_examples=400, deadline=None)
@given(st.data())
def test_spoiled_inputs_fail_by_name_and_never_otherwise(data):
    case = copy.deepcopy(data.draw(st.sampled_from(all_cases())))
    key = data.draw(st.sampled_from(sorted(case["inputs"])))
    if data.draw(st.booleans()):
        case["inputs"][key] = data.draw(junk)
    else:
        del case["inputs"][key]
    assert reference.fault_of(case) is None
    [row] = reference.evaluate([case])
    assert row.ok in (True, False, None)
    json.dumps(row.as_json(), allow_nan=False)


@settings(max_examples=300, deadline=None)
@given(
    st.one_of(
        junk,
        st.fixed_dictionaries(
            {"id": junk, "topic": junk, "inputs": junk, "expected": junk, "tolerance": junk}
        ),
    )
)
def test_any_form_has_a_fault_or_can_be_evaluated(value):
    if reference.fault_of(value) is None:
        assert len(reference.evaluate([value])) == 1
