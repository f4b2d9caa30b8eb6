"""Which composites are whole: what the schemas take, and the same on both sides."""

from half_composites import any_composite, composites_of_any, whole_by_schema
from parity import parity
from twins import agree

from webapp.survey.composites import FORMS, is_whole, usable


def test_every_composite_of_the_schemas_is_known():
    assert set(FORMS) == composites_of_any()


@parity("composites", any_composite(), any_composite())
def test_whole_is_what_the_schemas_take_and_both_sides_take_out_the_same(twin, shown, other):
    for name, value in (shown, other):
        assert is_whole(name, value) == whole_by_schema(name, value)
    agree(twin, "survey/composites", "is_whole", is_whole, *shown)
    name, value = shown
    record = {"id": "a", "fields": {name: value, "code": "BAB"}, "conflicts": {other[0]: [["w:1", other[1]]]}}
    agree(twin, "survey/composites", "usable", usable, record)
