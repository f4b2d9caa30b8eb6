"""The level that is asked for before leaving, against what the level functions themselves say."""

from hypothesis import given, settings
from hypothesis import strategies as st

from webapp.survey.instruments.instruments import instruments_of
from webapp.survey.levels.falls import what_would_a_tie_settle
from webapp.survey.levels.levels import level_profile
from webapp.survey.levels.run_model import run_model
from webapp.survey.review.leave_levels import unsettled_rises

TOOLS = instruments_of([], "r")
KNOWN = {"size": 80, "unit": "one_in", "sense": "falling"}
BEYOND = {"over_range": True, "sense": "falling"}


def survey(kinds, tied):
    """Readings every 2 m, some beyond the range; levels by the counter."""
    readings = [
        {"id": f"r{k}", "fields": {"counter_m": 2.0 * k, "inclination": BEYOND if beyond else KNOWN}}
        for k, beyond in enumerate(kinds)
    ]
    ties = [{"id": f"t{m}", "fields": {"counter_m": m, "invert_level_m": 9.0, "sd_m": 0.01}} for m in tied]
    return {"reading": readings, "level_tie": ties, "stretch": []}


def clear(kinds, tie_m):
    """A level is taken at a chamber or an opening, not inside a length beyond the range."""
    return not any(beyond and 2.0 * k - 2.0 < tie_m < 2.0 * k + 2.0 for k, beyond in enumerate(kinds))


def outside_is_settled(places, known, items):
    """No level is bounded but those between the beginning and the end of an item."""
    return all(
        word != "bounded" or any(one["values"]["from_m"] < at < one["values"]["to_m"] for one in items)
        for at, word in zip(places, known, strict=True)
    )


@settings(max_examples=120, deadline=None)
@given(
    st.lists(st.booleans(), min_size=2, max_size=9),
    st.lists(st.sampled_from([0.0, 1.0, 2.0, 5.0, 8.0, 9.5, 13.0, 20.0]), max_size=3, unique=True),
)
def test_what_is_asked_for_is_what_settles(kinds, tied):
    tied = [m for m in tied if m == 0 or clear(kinds, m)]
    parts = survey(kinds, tied)
    items = unsettled_rises("r", {}, parts, [], TOOLS)
    model = run_model({}, parts["reading"], parts["level_tie"], [], [], TOOLS)
    profile = level_profile(model.readings, model.ties, model.setup)
    unseen = [model.readings[g.reading].chainage_m for g in profile.gaps if g.status == "open"]
    assert bool(unseen) == bool(items)
    for at in unseen:
        assert any(one["values"]["from_m"] <= at <= one["values"]["to_m"] for one in items)

    more = {one["values"]["tie_m"] for one in items}
    if any(one["code"] == "rise_needs_both_levels" for one in items):
        more.add(items[0]["values"]["from_m"])
    then = survey(kinds, sorted({*tied, *more}))
    assert unsettled_rises("r", {}, then, [], TOOLS) == []
    after = run_model({}, then["reading"], then["level_tie"], [], [], TOOLS)
    solved = level_profile(after.readings, after.ties, after.setup)
    assert all(gap.status != "open" for gap in solved.gaps)
    if len(items) == 1 and len(more) == 1 and all(gap.status != "bounded" for gap in profile.gaps):
        found = what_would_a_tie_settle(model.readings, model.ties, model.setup, more.pop(), 0.01)
        assert outside_is_settled(found.chainage_m, found.known, items)
