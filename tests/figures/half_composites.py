"""Jobs in which composites are not whole, as an earlier version or a script may have stored them."""

import copy

from hypothesis import strategies as st
from run_cases import lengths, single_runs

from webapp.schemas import schema_for
from webapp.schemas.base import Composite, Flag, Number, Text, Word

KINDS = {"nodes": "node", "checks": "check", "readings": "reading", "stretches": "stretch",
         "observations": "observation"}  # fmt: skip
FIELDS = {
    kind: {
        name: field.schema for name, field in schema_for(kind).fields.items() if isinstance(field, Composite)
    }
    for kind in ("run", *KINDS.values())
}
ODD = ("", "3", "x", True, False, [], [3], {}, {"a": 1}, -1, 1e9, 0.5, None)
NO_COMPOSITE = ("3", "", 7, 0, True, [], ["a"], {})


def part_values(field, wide):
    """Values of a part as it must be; ``wide``: up to its greatest, where figures hang on the last digit."""
    if isinstance(field, Number):
        low, high = field.minimum, field.maximum
        some = [low, high, (low + high) / 2, low + (high - low) / 1000]
        if not wide:
            some = [low, low + min(high - low, 10) / 5, low + min(high - low, 10) / 3]
        return st.sampled_from([int(one) for one in some] if field.whole else some)
    if isinstance(field, Word):
        return st.sampled_from(list(field.words))
    assert isinstance(field, Flag | Text) or type(field).__name__ == "Truth", field
    return st.just("typed") if isinstance(field, Text) else st.booleans()


@st.composite
def values(draw, schema, wide=True):
    """A value of a composite: whole or nearly so, its parts now and then missing, null or something else."""
    if draw(st.integers(0, 9)) == 0:
        return draw(st.sampled_from(NO_COMPOSITE))
    found = {}
    for name, field in schema.fields.items():
        drawn = draw(st.integers(0, 7 if field.required else 3))
        if drawn == 0:
            continue
        found[name] = draw(st.sampled_from(ODD)) if drawn == 1 else draw(part_values(field, wide))
    return found


def any_composite():
    """The name of a field and a value for it."""
    named = {name: schema for schemas in FIELDS.values() for name, schema in schemas.items()}
    return st.sampled_from(sorted(named)).flatmap(lambda name: st.tuples(st.just(name), values(named[name])))


def whole_by_schema(name, value):
    """What the schema says of a value."""
    schema = next(schemas[name] for schemas in FIELDS.values() if name in schemas)
    if not isinstance(value, dict):
        return value is None
    return not type(schema)().validate(value)


@st.composite
def damaged(draw):
    """A job of ``run_cases`` and the same with composites that are not whole, shown or in dispute."""
    case = copy.deepcopy(draw(single_runs() | lengths()))
    places = [("run", one["recorded"]) for one in case["runs"]]
    places += [
        (kind, record)
        for one in case["runs"]
        for name, kind in KINDS.items()
        for record in one["records"][name]
    ]
    for kind, record in places:
        for name in FIELDS[kind]:
            if draw(st.integers(0, 2)) == 0:
                value = draw(values(FIELDS[kind][name], wide=False))
                if draw(st.integers(0, 3)) == 0:
                    standing = [["w1:9", value], ["w2:4", record["fields"].get(name)]]
                    record["conflicts"] = {**record.get("conflicts", {}), name: standing}
                record["fields"][name] = value
    return case


def without_halves(case):
    """The same job with None wherever a composite is not whole."""
    found = copy.deepcopy(case)
    records = [
        record
        for one in found["runs"]
        for record in (one["recorded"], *(r for name in KINDS for r in one["records"][name]))
    ]
    for record in records:
        for name, value in record["fields"].items():
            if name in composites_of_any() and not whole_by_schema(name, value):
                record["fields"][name] = None
        for name, rows in record.get("conflicts", {}).items():
            if name in composites_of_any():
                for row in rows:
                    row[1] = row[1] if whole_by_schema(name, row[1]) else None
    return found


def composites_of_any():
    """The names of all fields that hold a composite."""
    return {name for schemas in FIELDS.values() for name in schemas}
