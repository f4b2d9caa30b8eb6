"""A machine that plays days in the field: phones, a server, and everything that can go wrong between them.

The phones run the app's own exchange, fold and transport in Node; the server is the real one, on SQLite,
reached over HTTP.  What is checked at the end is told by nothing but the entries that were written: every one
is everywhere exactly once, and a value is gone only if somebody who knew it replaced it.
"""

import datetime
import types

from convergence_check import check, held_by_server, identity
from convergence_world import JOBS, World
from hypothesis import strategies as st
from hypothesis.stateful import Bundle, RuleBasedStateMachine, initialize, multiple, rule

from webapp.budgets import BUDGETS

RECORDS = [f"01a1a070-0000-7000-9000-00000000000{n}" for n in range(3)]
FIRST = ("one", "two", "three")
MAX_PHONES = 5
WAYS = ["none"] * 4 + ["lost_request", "lost_answer", "twice", "crash", "late"]
FAULTS = st.lists(st.sampled_from(WAYS), max_size=3)


def machine(world: World, planted: str = ""):
    """Return the machine's class on a world."""

    class Days(RuleBasedStateMachine):
        phones = Bundle("phones")

        @initialize(target=phones)
        def begin(self):
            world.put_back({})
            world.link.late.clear()
            world.ask("new")
            for name in FIRST:
                world.ask("phone", name=name, jobs=JOBS)
            self.names, self.written, self.saved = list(FIRST), [], {}
            return multiple(*FIRST)

        def write(self, name, job_id, record_id, text, value, luck, year):
            """A change, by a clock that may be decades off; some are such that the server sets them aside."""
            fields = {"text": str(value)} if text else {"counter_m": value}
            if luck == 0:
                fields = {"counter_m": "far"}
            elif luck == 1:
                fields = {"removed": value % 2 == 0}
            elif luck == 2:  # more than an entry may have: its frame goes in its place
                fields = {f"field_{n}": value for n in range(BUDGETS.entry_fields + 1)}
            stamp = datetime.datetime(year, 1, 1, tzinfo=datetime.UTC).isoformat()
            what = {"job_id": job_id, "record_id": record_id, "fields": fields, "recorded_at": stamp}
            made = world.ask("write", name=name, **what)
            if made:  # a full phone, and a job that is away, take nothing
                self.written.append(made | {"name": name})

        def sync(self, name, faults, size):
            world.ask("sync", name=name, faults=faults, size=size)

        # Rules are picked alike; what happens often in a day stands here several times.
        change = rule(
            name=phones,
            job_id=st.sampled_from(JOBS),
            record_id=st.sampled_from(RECORDS),
            text=st.booleans(),
            value=st.integers(0, 999),
            luck=st.integers(0, 12),
            year=st.integers(1990, 2060),
        )
        send = rule(name=phones, faults=FAULTS, size=st.sampled_from([1, 2, 5, 1000]))
        write_1, write_2, write_3 = change(copy_of(write)), change(copy_of(write)), change(copy_of(write))
        sync_1, sync_2 = send(copy_of(sync)), send(copy_of(sync))

        @rule()
        def late_requests_arrive(self):
            world.link.deliver_late()

        @rule()
        def server_is_backed_up(self):
            self.saved = world.rows()

        @rule()
        def server_is_restored(self):
            world.put_back(self.saved)

        @rule(name=phones)
        def app_is_opened_again(self, name):
            world.ask("reopen", name=name)

        @rule(target=phones, name=phones)
        def phone_is_cloned(self, name):
            if len(self.names) >= MAX_PHONES:
                return name
            self.names.append(f"copy{len(self.names)}")
            world.ask("clone", name=name, **{"as": self.names[-1]})
            return self.names[-1]

        @rule(name=phones, to=phones)
        def file_is_handed_over(self, name, to):
            if name != to:
                world.ask("hand_over", name=name, to=to)

        @rule(
            name=phones,
            job_id=st.sampled_from(JOBS),
            after=st.sampled_from([0, 0, 1, 2, 3, 4, 5]),
            luck=st.sampled_from([0, 0, 9]),
        )
        def phone_is_full(self, name, job_id, after, luck):
            """What was written before still goes, and any of the writes that follow from the answer fails."""
            self.write(name, job_id, RECORDS[1], True, after, luck, 2026)
            world.ask("fill", name=name, after=after)
            self.sync(name, [], 1000)

        @rule(name=phones)
        def phone_has_room(self, name):
            world.ask("fill", name=name)

        @rule(
            name=phones,
            job_id=st.sampled_from(JOBS),
            restored=st.booleans(),
            back=st.booleans(),
            faults=FAULTS,
        )
        def job_is_put_away(self, name, job_id, restored, back, faults):
            """Right after something was sent, by a server that may have been restored to before that.

            Backups from earlier are out of date then: what a phone let go nobody may bring again.  What is
            written before all of a job has come back must not follow what has not.
            """
            before = world.rows()
            self.write(name, job_id, RECORDS[0], True, len(self.written), 9, 2026)
            self.sync(name, [], 1000)
            if restored:
                world.put_back(before)
            if world.ask("put_away", name=name, job_id=job_id, faults=faults) == "away":
                self.saved = world.rows()
                if back:
                    world.ask("bring_back", name=name, job_id=job_id)
                    self.write(name, job_id, RECORDS[0], True, len(self.written), 9, 2026)

        @rule(name=phones, job_id=st.sampled_from(JOBS))
        def job_is_brought_back(self, name, job_id):
            world.ask("bring_back", name=name, job_id=job_id)

        def erase(self, job_id, what, which, days):
            """Something that the server holds whole is hidden, or expunged at once."""
            held = sorted(i for i, e in held_by_server(world, job_id).items() if "erased" not in e)
            if held:
                one = held_by_server(world, job_id)[held[which % len(held)]]
                named = {"entry": identity(one), "record": one.get("record_id"), "writer": one["writer"]}
                body = {"what": what, "target": named.get(what) or "", "reason": "on request", "days": days}
                world.office(f"/api/jobs/{job_id}/erasures", body)

        def go_on(self, which, way):
            """What is hidden is brought back, or expunged."""
            acts = world.server.client.get("/api/erasures").json["erasures"]
            hidden = sorted(act["id"] for act in acts if act["state"] == "quarantined")
            if hidden:
                world.office(f"/api/erasures/{hidden[which % len(hidden)]}/{way}", {})

        erases = rule(
            job_id=st.sampled_from(JOBS),
            what=st.sampled_from(["entry", "entry", "record", "writer", "job"]),
            which=st.integers(0, 99),
            days=st.sampled_from([30, 30, 30, 0]),
        )
        goes_on = rule(which=st.integers(0, 99), way=st.sampled_from(["undo", "undo", "expunge"]))
        erase_1, erase_2 = erases(copy_of(erase)), erases(copy_of(erase))
        go_on_1, go_on_2 = goes_on(copy_of(go_on)), goes_on(copy_of(go_on))

        @rule(
            name=phones,
            job_id=st.sampled_from(JOBS),
            what=st.sampled_from(["entry", "record", "writer"]),
            which=st.integers(0, 99),
        )
        def erasure_is_forgotten(self, name, job_id, what, which):
            """Something is expunged, a phone hears of it, and the server is restored to before that."""
            before = world.rows()
            self.erase(job_id, what, which, 0)
            self.sync(name, [], 1000)
            world.put_back(before)

        def teardown(self):
            if not hasattr(self, "names"):
                return
            world.link.deliver_late()
            for name in self.names:
                world.ask("fill", name=name)
                for job_id in JOBS:
                    world.ask("bring_back", name=name, job_id=job_id)
            for _ in range(3):
                for name in self.names:
                    world.ask("sync", name=name, faults=[], size=1000)
            check(world, self.names, self.written)

    Days.__name__ = f"Days_{planted or 'sound'}"
    return Days


def copy_of(function):
    """Return another function that does the same, for a rule of its own."""
    return types.FunctionType(
        function.__code__, function.__globals__, function.__name__, None, function.__closure__
    )
