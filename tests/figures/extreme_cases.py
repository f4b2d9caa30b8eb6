"""Runs and lengths whose fields are as extreme as the schemas let them be."""

import copy

from hypothesis import strategies as st
from run_cases import lengths, single_runs

from webapp.schemas import schema_for
from webapp.schemas.base import Choice, Composite, Flag, Number, Word

KINDS = {"nodes": "node", "checks": "check", "readings": "reading", "level_ties": "level_tie",
         "stretches": "stretch", "observations": "observation"}  # fmt: skip


def values_of(field):
    """Values at the ends of what a field takes, and between; None where the field is left as it is."""
    if isinstance(field, Number):
        low, high = field.minimum, field.maximum
        some = [low, high, (low + high) / 2, low + (high - low) / 100, low + (high - low) / 10_000]
        return st.sampled_from([int(one) for one in some] if field.whole else some)
    if isinstance(field, Choice):
        return st.sampled_from(list(field.choices))
    if isinstance(field, Word):
        return st.sampled_from(list(field.words))
    if isinstance(field, Flag):
        return st.booleans()
    if isinstance(field, Composite):
        parts = {name: values_of(part) for name, part in field.schema.fields.items()}
        return st.fixed_dictionaries({name: one for name, one in parts.items() if one is not None})
    return None


def legal(kind, fields):
    return not schema_for(kind).validate(fields, partial=True)


@st.composite
def extreme(draw):
    """A job of ``run_cases`` with a handful of fields at the ends of what the schemas take."""
    case = copy.deepcopy(draw(single_runs() | lengths()))
    every = [("job", case["job"])] + [("run", one["recorded"]["fields"]) for one in case["runs"]]
    every += [
        (kind, record["fields"])
        for one in case["runs"]
        for name, kind in KINDS.items()
        for record in one["records"][name]
    ]
    for _ in range(draw(st.integers(1, 12))):
        kind, fields = draw(st.sampled_from(every))
        able = {n: one for n, f in schema_for(kind).fields.items() if (one := values_of(f)) is not None}
        name = draw(st.sampled_from(sorted(able)))
        changed = {**fields, name: draw(able[name])}
        if legal(kind, {k: v for k, v in changed.items() if not k.endswith("_id") and k != "same_as"}):
            fields[name] = changed[name]
    return case
