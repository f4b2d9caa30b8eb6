"""Lengths surveyed in pieces, on both sides: joins, sight, levels, words."""

from hypothesis import strategies as st
from length_cases import COUNTED, SIGHT, checks, jobs
from parity import parity
from twins import agree, as_json

from webapp import tables
from webapp.survey.instruments.instruments import instruments_of
from webapp.survey.lengths import length_of_runs, levels_both_ends
from webapp.survey.lengths.pipe_length import length_groups
from webapp.survey.levels import run_model
from webapp.survey.levels.input import NOT_READ, LevelReading, LevelSetup, LevelTie
from webapp.survey.levels.levels import level_profile
from webapp.survey.wording import sight as length_words

WORDS = tables.messages()


def reported(runs, made, sight, counted):
    return as_json(length_of_runs.length_of_runs(runs, made, sight, counted))


@parity(
    "lengths/pipe_length", "lengths/length_of_runs", jobs, checks,
    through=["lengths/records", "lengths/sight", "lengths/same_objects"], keep=[SIGHT, COUNTED], each=10,
    cases=1200,
)  # fmt: skip
def test_lengths_agree(twin, runs, made):
    plain = [as_json(run) for run in runs]
    groups = [{"id": r["run_id"], "fields": {"continues_run_id": f"r{k - 1}"}} for k, r in enumerate(plain)]
    agree(twin, "survey/lengths/pipe_length", "length_groups", length_groups, groups)
    ours = length_of_runs.length_of_runs(runs, made, SIGHT, COUNTED)
    agree(
        twin,
        "survey/lengths/length_of_runs",
        "length_of_runs",
        lambda *_: as_json(ours),
        plain,
        made,
        SIGHT,
        COUNTED,
    )
    stopped = length_of_runs.stopped_counters(ours)
    agree(twin, "survey/lengths/length_of_runs", "stopped_counters", lambda *_: stopped, as_json(ours))
    bottleneck = {"bottleneck": {"index": 1, "reasons": [1], "rivals": [0], "no_number": []}, "limits": []}
    less = length_of_runs.withheld_between(bottleneck, ours.join, bool(stopped))
    requested = bottleneck, as_json(ours.join), bool(stopped)
    agree(twin, "survey/lengths/length_of_runs", "withheld_between", lambda *_: less, *requested)


@parity("wording/sight", "lengths/levels_both_ends", jobs, checks, keep=[SIGHT, COUNTED, WORDS], each=10)
def test_levels_and_words_of_lengths_agree(twin, runs, made):
    found = length_of_runs.length_of_runs(runs, made, SIGHT, COUNTED)
    join = as_json(found.join)
    words = "survey/wording/sight"
    agree(twin, words, "join_lines", length_words.join_lines, WORDS, join, len(found.perhaps))
    agree(twin, words, "perhaps_line", length_words.perhaps_line, WORDS, len(runs))
    for part in (found.visibility or {}).get("parts", ())[:2]:
        ends = part["from_counter_m"], part["to_counter_m"]
        agree(
            twin,
            words,
            "unseen_why",
            length_words.unseen_why,
            WORDS,
            part,
            join["between"],
            *ends,
            len(runs) == 2,
        )
    instruments = instruments_of(made, "r0")
    between = join["between"] or [(4.0, 6.5)]
    model = run_model.run_model(found.run, found.readings, found.level_ties, found.stretches, [], instruments)

    def opened(plain, spans):
        new, assumed = levels_both_ends.with_unsurveyed(model, spans)
        return as_json(new), assumed

    agree(twin, "survey/lengths/levels_both_ends", "with_unsurveyed", opened, as_json(model), between)
    stations = [{"known": "computed", "chainage_m": m / 2} for m in range(9)]

    def marked(profile, spans):
        return {
            "stations": [
                {**one, "known": "assumed"} if any(a <= one["chainage_m"] <= b for a, b in spans) else one
                for one in profile["stations"]
            ]
        }

    agree(twin, "survey/lengths/levels_both_ends", "with_assumed", marked, {"stations": stations}, between)


levels = st.tuples(
    st.lists(
        st.tuples(st.floats(0, 30), st.sampled_from([None, -1.0, 0.5]), st.booleans()), min_size=2, max_size=7
    ),
    st.sampled_from([[], [(28.0, 4.0)], [(0.0, 5.0), (29.0, 4.5)]]),
    st.sampled_from([0.0, 0.3]),
)


@parity("levels/model", levels)
def test_turned_and_missing_readings_agree(twin, drawn):
    rows, tied, zero_deg = drawn
    rows = sorted(rows, key=lambda row: row[0])
    readings = [
        LevelReading(m, deg, 0 if deg is not None else NOT_READ, None, None, turned)
        for m, deg, turned in rows
    ]
    setup = LevelSetup("trapezoid", 0.0, None, 0.0, 0.1, 0.2, 0.005, zero_deg, 10.0, 30.0)
    ties = [LevelTie(m, level, 0.01) for m, level in tied]
    plain = [as_json(r) for r in readings], [as_json(t) for t in ties], as_json(setup)

    def walk(*_):
        from webapp.survey.levels.model import walk_levels

        return as_json(walk_levels(readings, ties, setup))

    agree(twin, "survey/levels/model", "walk_levels", walk, *plain)

    def ends(*_):
        return as_json(level_profile(readings, ties, setup))

    agree(twin, "survey/levels/levels", "level_profile", ends, *plain, within=1e-6)
