"""Names are data: whatever things are called, server and phones (the app's own code, in Node) hold the same.

Odd names go through the whole exchange: to the server, to a phone, by file to another, to a new server.
"""

import json

import pytest
from convergence_check import aside_on_server, held_by_server, identity
from convergence_world import JOBS, World
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from servers import entry, error_of

from webapp.records import canonical
from webapp.records.entry_budget import frame_of, is_too_large
from webapp.schemas.entry import WRITER
from webapp.schemas.names import RESERVED, is_name
from webapp.store import entry_rows
from webapp.store.engine import writing
from webapp.sync.stored import text_of

JOB = JOBS[0]
ODD = [
    *sorted(RESERVED), "prototype", "", " ", "*", ".", "a:1", "x" * 65, "x" * 70_000,
    "\0", "\x7f", "\ufffe", "\uffff",
    "\ud800", "\udfff\ud800", "é",
    "\u200b", "a\u200db", "\ufeff", "x" * 300, "\u202eabc", "counter_m", "removed", "0", "-0", "too_large",
]  # fmt: skip
NAMES = st.one_of(st.sampled_from(ODD), st.text(st.characters(), max_size=12))
NUMBERS = st.one_of(
    st.integers(-(2**70), 2**70),
    st.floats(allow_nan=False, allow_infinity=False),
    st.sampled_from([2**53, 2**53 - 1, -(2**53), 1e15, 5e15, 1e16, 1e21, 1e22, -0.0, 5e-324, 0.1 + 0.2]),
)
VALUES = st.recursive(
    st.one_of(st.none(), st.booleans(), NUMBERS, NAMES),
    lambda inner: st.one_of(st.lists(inner, max_size=3), st.dictionaries(NAMES, inner, max_size=3)),
    max_leaves=6,
)
PARTS = st.fixed_dictionaries(
    {},
    optional={
        "fields": st.one_of(st.dictionaries(NAMES, VALUES, max_size=3), VALUES),
        "record_id": NAMES, "kind": NAMES, "device_id": NAMES, "recorded_at": NAMES,
        "seen": st.one_of(st.dictionaries(NAMES, st.lists(NAMES, max_size=2), max_size=2), VALUES),
        "__proto__": VALUES, "constructor": VALUES, "too_large": VALUES,
    },
)  # fmt: skip


@pytest.fixture(scope="module")
def world(tmp_path_factory):
    one = World(tmp_path_factory.mktemp("names") / "data")
    yield one
    one.close()


def begin(world, *names):
    world.put_back({})
    world.ask("new")
    for name in names:
        world.ask("phone", name=name, jobs=[JOB])


def post(world, sent):
    body = {"protocol": 1, "device_id": "script", "jobs": {}, "entries": sent}
    return world.server.client.post("/api/sync", json=body)


def sync(world, *names):
    for name in names:
        assert world.ask("sync", name=name, faults=[], size=1000) == "ok"


def put_away_and_back(world, name):
    assert world.ask("put_away", name=name, job_id=JOB, faults=[]) == "away"
    world.ask("bring_back", name=name, job_id=JOB)
    sync(world, name)


def spelled(entries):
    return {one: text_of(found) for one, found in entries.items()}


def check_same(world, *names):
    """Every phone holds what the server holds, and knows what was set aside; returns it spelled out."""
    held, aside = spelled(held_by_server(world, JOB)), aside_on_server(world, JOB)
    for name in names:
        state = world.ask("state", name=name)[JOB]
        assert spelled({identity(e): e for e in state["entries"]}) == held
        assert set(state["aside"]) == aside
    return held, aside


@settings(
    max_examples=60, deadline=None, derandomize=True, database=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)  # fmt: skip
@given(parts=st.lists(PARTS, min_size=1, max_size=6))
def test_a_phone_can_hold_whatever_the_server_takes(world, parts):
    begin(world, "anna", "ben", "cleo")
    sent = [
        entry(JOB, "script-0", n, kind="remark", fields={"text": "x"}) | p for n, p in enumerate(parts, 1)
    ]
    answer = post(world, sent)
    assert answer.status_code == 200, answer.text
    sync(world, "anna", "ben")
    before = check_same(world, "anna", "ben")
    assert len(before[0]) == len(sent)
    put_away_and_back(world, "ben")
    assert check_same(world, "anna", "ben") == before
    world.ask("hand_over", name="anna", to="cleo")
    world.put_back({})  # a new server knows nothing of it
    sync(world, "cleo")
    assert check_same(world, "cleo") == before
    sync(world, "anna", "ben", "cleo")
    assert check_same(world, "anna", "ben", "cleo") == before
    assert not world.server.all_rows()["clash"]


WRITERS = [name for name in ODD if not (WRITER.fullmatch(name) and name not in RESERVED)]


@pytest.mark.parametrize("writer", WRITERS, ids=lambda w: ascii(w)[:30])
def test_an_odd_writer_is_refused_and_nothing_is_stored(world, writer):
    begin(world)
    answer = post(world, [entry(JOB, "sound-writer", 1), entry(JOB, writer, 1)])
    assert (error_of(answer)["code"], error_of(answer)["index"]) == ("entry_malformed", 1)
    assert not world.server.all_rows()["entry"]


def test_what_was_taken_under_such_a_name_still_converges(world):
    """An earlier version took them, and phones then silently held something else."""
    begin(world, "anna", "ben", "cleo")
    writers = [name for name in sorted(RESERVED) if WRITER.fullmatch(name)]
    rows = []
    for writer in writers:
        for number in (1, 2, 3):
            one = entry(JOB, writer, number, kind="remark", fields={"text": f"{writer} {number}"})
            row = {
                "job_id": JOB,
                "writer": writer,
                "number": number,
                "record_id": one["record_id"],
                "kind": "remark",
                "body": canonical.dumps(one),
                "sha256": canonical.digest(one),
                "aside": None,
                "received_at": "2026-01-01T00:00:00",
            }
            rows.append(row)
    with world.server.app.app_context(), writing() as connection:
        entry_rows.add(connection, rows)
    for _ in range(2):
        sync(world, "anna", "ben")
    before = check_same(world, "anna", "ben")
    assert len(before[0]) == 3 * len(writers) >= 24
    put_away_and_back(world, "ben")
    assert check_same(world, "anna", "ben") == before
    world.ask(
        "write",
        name="anna",
        job_id=JOB,
        record_id=JOBS[1],
        fields={"text": "after"},
        recorded_at="2026-01-01T00:00:00Z",
    )
    sync(world, "anna", "ben")
    assert len(check_same(world, "anna", "ben")[0]) == len(before[0]) + 1


def test_a_field_of_an_odd_name_is_set_aside_in_a_short_sentence(world):
    begin(world)
    odd = [name for name in ODD if not is_name(name)]
    sent = [entry(JOB, "script-0", n, fields={name: 1}) for n, name in enumerate(odd, 1)]
    answer = post(world, sent)
    for _, outcome, code, reasons in answer.json["fates"]:
        assert (outcome, code in ("entry_refused", "entry_too_large")) == ("set_aside", True)
        assert len(json.dumps(reasons)) < 400


def test_both_sides_have_one_rule_for_names(twin):
    names = [*ODD, "abc", "a-b_C9", "x" * 64]
    sendable = [name for name in names if not any(0xD800 <= ord(c) <= 0xDFFF for c in name)]
    answers = twin.batch([("records/names", "is_name", (name,)) for name in sendable], {})
    assert [found for found, _ in answers] == [is_name(name) for name in sendable]
    assert twin.call("records/names", "is_name", ["abcdefgh"]) is False


def as_a_phone_has_it(value):
    """Return a value whose whole numbers are spelled as JavaScript spells them."""
    if isinstance(value, dict):
        return {name: as_a_phone_has_it(one) for name, one in value.items()}
    if isinstance(value, list):
        return [as_a_phone_has_it(one) for one in value]
    return int(value) if isinstance(value, float) and value.is_integer() else value


@settings(max_examples=100, deadline=None, derandomize=True, database=None)
@given(
    parts=PARTS,
    more=st.sampled_from([0, 63_000, 63_500, 64_000, 70_000]),
    deep=st.sampled_from([0, 12, 13, 14, 15, 16]),
)
def test_both_sides_find_the_same_too_large_and_make_the_same_frame(twin_of_module, parts, more, deep):
    fields = {"text": "x" * more, "x": json.loads("[" * deep + "]" * deep) if deep else 1}
    one = as_a_phone_has_it(entry(JOB, "script-0", 1, kind="remark", fields=fields) | parts)
    if "\\ud" in json.dumps(one):
        return  # the pipe between the two carries no lone surrogates
    (large, _), (frame, _) = twin_of_module.batch(
        [("records/entry_budget", "is_too_large", (one,)), ("records/entry_budget", "frame_of", (one,))], {}
    )
    assert frame == frame_of(one)
    assert large == is_too_large(one, text_of(one))


@pytest.fixture(scope="module")
def twin_of_module():
    from twin import Twin

    one = Twin()
    yield one
    one.close()
