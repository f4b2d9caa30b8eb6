"""Every field of a record is written, or said to be left behind."""

import pytest
from pack_jobs import Maker

from webapp import exchange
from webapp.records.fold import fold
from webapp.schemas import schema_for
from webapp.schemas.base import Choice, Composite, Flag, Number, Text, Word

# what goes with a value that is itself left behind, or a picture, and how a counter that was reset counted
NO_PART_OF_A_SURVEY = {
    "job": {"declination_known", "declination_sd_deg", "declination_model", "photo_location"},
    "stretch": {"from_counter_m", "from_part", "to_part"},
    "observation": {"counter_part"},
    "remark": {"counter_part"},
    "photo": {"size_bytes", "width_px", "height_px", "counter_part", "location_removed", "focus_pct",
              "brightness_pct", "contrast_pct", "shows_enough"},
}  # fmt: skip
GIVEN = {
    "job": {},
    "node": {"node_ref": "A"},
    "run": {"run_ref": "R"},
    "stretch": {"from_counter_m": 1.0},
    "observation": {"code": "BAF", "counter_m": 3.0},
    "remark": {"counter_m": 2.0, "text": "Dry"},
    "photo": {"counter_m": 2.5, "sha256": "0" * 64, "size_bytes": 5, "media_type": "image/jpeg"},
}
WHOLE = {"inclination": {"size": 1, "unit": "deg", "sense": "rising"}, "next_steps": {"clean": "at_once"}}


def some(name, field):
    """A value that the field takes; None for a reference and for what has a form of its own."""
    if isinstance(field, Number):
        value = (field.minimum + field.maximum) / 7 + 1
        return int(value) if field.whole else value
    if isinstance(field, Choice):
        return next(one for one in field.choices if one != "unknown")
    if isinstance(field, Composite):
        parts = {n: some(n, part) for n, part in field.schema.fields.items()}
        return WHOLE.get(name, {n: part for n, part in parts.items() if part is not None})
    if isinstance(field, Word):
        return field.words[0]
    return True if isinstance(field, Flag) else "As found" if isinstance(field, Text) else None


def written(kind, **more):
    maker = Maker()
    fields = GIVEN | {kind: {**GIVEN[kind], **more}}
    maker.add("job", **{"title": "T", **fields["job"]})
    start, finish = maker.add("node", **fields["node"]), maker.add("node", node_ref="B")
    run = maker.add("run", start_node_id=start, finish_node_id=finish, **fields["run"])
    for name in ("stretch", "observation", "remark", "photo"):
        maker.add(name, run_id=run, **fields[name])
    found = exchange.inspections_of(fold(maker.entries))
    return repr(found.inspections), found.not_carried


def fields_of(kind):
    named = {name: some(name, field) for name, field in schema_for(kind).fields.items() if name != "title"}
    return {name: value for name, value in named.items() if value is not None}


@pytest.mark.parametrize("kind", GIVEN)
def test_every_field_is_written_or_said_to_be_left_behind(kind):
    without = written(kind)
    silent = {name for name, value in fields_of(kind).items() if written(kind, **{name: value}) == without}
    assert silent == NO_PART_OF_A_SURVEY.get(kind, set())
