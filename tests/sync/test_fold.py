"""The fold: order-free, repeat-free, the same on both sides, and nothing vanishes without being seen."""

import copy
import random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from webapp.records import canonical
from webapp.records.fold import EVERYTHING, Fold, Record, entry_id, fold

JOB = "01890000-0000-7000-8000-000000000001"
RECORDS = [
    ("run", "01890000-0000-7000-8000-0000000000a1"),
    ("reading", "01890000-0000-7000-8000-0000000000b2"),
]
VALUES = st.one_of(
    st.none(),
    st.integers(0, 3),
    st.sampled_from(["", "é😀", "\u202eabc", "a"]),
    st.sampled_from([0.5, 2.0, 1e-7, 12.3]),
    st.fixed_dictionaries({"size": st.integers(0, 2), "unit": st.sampled_from(["deg", "pct"])}),
)
# (device, record, field or removed, value, which others to hear from first)
STEPS = st.lists(
    st.tuples(
        st.integers(0, 2),
        st.integers(0, 1),
        st.sampled_from(["run_ref", "remark", "removed"]),
        VALUES,
        st.sets(st.integers(0, 2)),
    ),
    max_size=25,
)


class Device:
    """One phone: what it holds, and how it makes entries (as static/js/store does)."""

    def __init__(self, name: str):
        self.name, self.number = name, 0
        self.held: dict[str, dict] = {}

    def write(self, kind, record_id, field, value):
        record = {(r.kind, r.id): r for r in fold(self.held.values())}.get((kind, record_id))
        standing = record.standing if record else {}
        self.number += 1
        if field == "removed":
            value = bool(value)
        seen = {field: standing[field]} if standing.get(field) else {}
        if field == "removed" and value:
            seen[EVERYTHING] = sorted({i for n, ids in standing.items() if n != "removed" for i in ids})
        entry = {
            "job_id": JOB,
            "writer": self.name,
            "number": self.number,
            "device_id": self.name,
            "record_id": record_id,
            "kind": kind,
            "fields": {field: value},
            "seen": seen,
            "recorded_at": "2026-11-25T10:00:00+00:00",
        }
        self.take([entry])
        return entry

    def take(self, entries):
        for entry in entries:
            self.held.setdefault(entry_id(entry), entry)


def play(steps):
    """Run the steps on three devices; return all entries in the order of their making."""
    devices = [Device(f"writer-{i}") for i in range(3)]
    made = []
    for who, record, field, value, heard in steps:
        for other in heard:
            devices[who].take(devices[other].held.values())
        made.append(devices[who].write(*RECORDS[record], field, value))
    return made


def plain(records: list[Record]):
    """Return records as JSON values, for comparing with the other side."""
    return [
        {
            "id": r.id,
            "kind": r.kind,
            "fields": r.fields,
            "conflicts": {n: [list(pair) for pair in values] for n, values in r.conflicts.items()},
            "standing": r.standing,
            "removed": r.removed,
        }
        for r in records
    ]


@settings(max_examples=150, deadline=None)
@given(STEPS, st.randoms(use_true_random=False))
def test_any_order_and_repetition_folds_to_the_same(steps, rng):
    made = play(steps)
    jumbled = made + [rng.choice(made) for _ in range(len(made))] if made else []
    rng.shuffle(jumbled)
    before = copy.deepcopy(jumbled)
    assert plain(fold(jumbled)) == plain(fold(made))
    assert jumbled == before, "the fold must not change an entry"


@settings(max_examples=150, deadline=None)
@given(STEPS)
def test_no_value_vanishes_unless_somebody_saw_and_replaced_it(steps):
    made = play(steps)
    replaced = {i for e in made for ids in e["seen"].values() for i in ids}
    by_key = {(r.kind, r.id): r for r in fold(made)}
    for entry in made:
        if entry_id(entry) in replaced:
            continue
        record = by_key[entry["kind"], entry["record_id"]]
        (field,) = entry["fields"]
        assert entry_id(entry) in record.standing[field]
        if field != "removed":
            shown = [canonical.dumps(v) for _, v in record.conflicts.get(field, [])]
            shown.append(canonical.dumps(record.fields[field]))
            assert canonical.dumps(entry["fields"][field]) in shown


@settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(STEPS, st.randoms(use_true_random=False))
def test_both_sides_fold_alike(twin, steps, rng):
    made = play(steps)
    rng.shuffle(made)
    here, there = plain(fold(made)), twin.call("../../tests/js/fold_cases", "fold", made)
    assert canonical.dumps(here) == canonical.dumps(there)


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(VALUES, min_size=2, max_size=2), st.booleans())
def test_both_sides_agree_on_what_differs(twin, pair, same):
    one, other = (pair[0], copy.deepcopy(pair[0])) if same else pair
    here = canonical.dumps(one) == canonical.dumps(other)
    there = twin.call("records/fold", "canonical", one) == twin.call("records/fold", "canonical", other)
    assert here == there


def test_one_settles_what_two_devices_wrote():
    one, two = Device("writer-1"), Device("writer-2")
    a = one.write("run", "r", "run_ref", "A")
    b = two.write("run", "r", "run_ref", "B")
    (record,) = fold([a, b])
    assert record.conflicts == {"run_ref": [("writer-1:1", "A"), ("writer-2:1", "B")]}
    assert record.fields["run_ref"] == "B"
    one.take([b])
    (record,) = fold([b, one.write("run", "r", "run_ref", "A"), a])
    assert record.conflicts == {} and record.fields["run_ref"] == "A"


def test_a_removal_that_had_not_seen_a_change_is_shown():
    one, two = Device("writer-1"), Device("writer-2")
    two.take([one.write("run", "r", "run_ref", "A")])
    one.write("run", "r", "removed", True)
    two.write("run", "r", "run_ref", "B")
    (record,) = fold([*one.held.values(), *two.held.values()])
    assert not record.removed and "removed" in record.conflicts


class LastWriterWins(Fold):
    """The fold broken on purpose: whoever comes later wins."""

    def add(self, entry):
        super().add({**entry, "seen": {n: self._all(entry, n) for n in entry["fields"]}})

    def _all(self, entry, name):
        registers = self._registers.get((entry["kind"], entry["record_id"]), {})
        return list(registers[name].standing) if name in registers else []


def test_a_broken_fold_is_caught():
    rng = random.Random(7)
    differing = 0
    for _ in range(40):
        steps = [
            (rng.randrange(3), 0, "run_ref", rng.randrange(4), {rng.randrange(3)})
            for _ in range(rng.randrange(2, 9))
        ]
        made = play(steps)
        jumbled = rng.sample(made, len(made))
        differing += plain(LastWriterWins(made).records()) != plain(LastWriterWins(jumbled).records())
    assert differing > 10


@pytest.mark.parametrize("identity", ["writer-9:1", "writer-9:12"])
def test_seen_may_name_entries_that_have_not_arrived(identity):
    entry = {
        "writer": "writer-1",
        "number": 1,
        "kind": "run",
        "record_id": "r",
        "fields": {"a": 1},
        "seen": {"a": [identity]},
    }
    writer, _, number = identity.rpartition(":")
    late = {"writer": writer, "number": int(number), "kind": "run", "record_id": "r", "fields": {"a": 2}}
    (record,) = fold([entry, late])
    assert record.fields == {"a": 1} and record.conflicts == {}
