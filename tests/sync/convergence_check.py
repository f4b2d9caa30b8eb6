"""What must hold at the end: every replica has every entry once, and shows what follows from them alone."""

from collections import defaultdict

from convergence_world import JOBS

from webapp.store import erasure_rows
from webapp.store.engine import reading
from webapp.sync.stored import as_stored


def check(world, names, written):
    """Every replica holds every entry once, and shows what follows from the entries alone."""
    states = {name: world.ask("state", name=name) for name in names}
    for job_id in JOBS:
        mine = {identity(w["entry"]): w["entry"] for w in written if w["entry"]["job_id"] == job_id}
        held = held_by_server(world, job_id)
        assert set(held) == set(mine), "the server lacks entries, or has some that nobody wrote"
        stored = {i: as_stored(e)[0] for i, e in mine.items()}
        erased, gone = erased_by(world, job_id)
        assert {i for i, e in held.items() if "erased" in e} == erased, (
            "what is erased is there, or more is gone"
        )
        whole = {i: e for i, e in held.items() if i not in erased}
        assert whole == {i: e for i, e in stored.items() if i not in erased}, "an entry changed on the way"
        aside = aside_on_server(world, job_id)
        for name, state in states.items():
            there = {identity(e): e for e in state[job_id]["entries"]}
            assert set(there) == set(mine), f"{name} lacks entries or has others"
            own = {identity(w["entry"]) for w in written if w["name"] == name}
            frames = {i for i, e in there.items() if "erased" in e}
            assert gone <= frames <= erased, f"{name} holds what was expunged, or lacks what was not"
            for i, found in there.items():
                same = found == mine[i] or (i not in own and found == stored[i])
                assert same or i in frames, f"{name} has another entry"
            assert set(state[job_id]["aside"]) == aside, f"{name} does not know what was set aside"
            assert shown(state[job_id]["records"]) == standing(mine, aside), f"{name} shows something else"
    for one in written:
        seen = {i for ids in (one["entry"].get("seen") or {}).values() for i in ids}
        assert seen <= set(one["knew"]), "a value was replaced by somebody who never saw it"
    identities = [(w["entry"]["job_id"], identity(w["entry"])) for w in written]
    assert len(set(identities)) == len(identities), "two entries under one identity"


def identity(entry):
    return f"{entry['writer']}:{entry['number']}"


def held_by_server(world, job_id):
    answer = world.server.client.get(f"/api/jobs/{job_id}")
    return {identity(e): e for e in answer.json["entries"]} if answer.status_code == 200 else {}


def erased_by(world, job_id):
    """Return which entries standing acts name, and which of them are expunged."""
    with world.server.app.app_context(), reading() as connection:
        acts = erasure_rows.acts(connection, [job_id])
    named = {state: set() for state in ("quarantined", "undone", "expunged")}
    for act in acts:
        for writer, spans in act.spans.items():
            named[act.state] |= {f"{writer}:{n}" for a, b in spans for n in range(a, b + 1)}
    return named["quarantined"] | named["expunged"], named["expunged"]


def aside_on_server(world, job_id):
    answer = world.server.client.get(f"/api/jobs/{job_id}")
    return set(answer.json["aside"]) if answer.status_code == 200 else set()


def standing(entries, aside):
    """Return record -> field -> the entries whose value nobody has seen and replaced."""
    good = {i: e for i, e in entries.items() if i not in aside}
    replaced = defaultdict(set)
    for entry in good.values():
        for name, ids in (entry.get("seen") or {}).items():
            if name in entry["fields"]:
                replaced[entry["record_id"], name].update(ids)
    found = defaultdict(lambda: defaultdict(set))
    for i, entry in good.items():
        for name in entry["fields"]:
            if i not in replaced[entry["record_id"], name]:
                found[entry["record_id"]][name].add(i)
    return {record: dict(fields) for record, fields in found.items()}


def shown(records):
    return {
        r["id"]: {name: set(ids) for name, ids in r["standing"].items()} for r in records if r["standing"]
    }
