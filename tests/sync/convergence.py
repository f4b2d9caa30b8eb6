"""A machine that plays days in the field: phones, a server, and everything that can go wrong between them.

The phones run the app's own exchange, fold and transport in Node; the server is the real one, on SQLite,
reached over HTTP.  What is checked at the end is told by nothing but the entries that were written: every one
is everywhere exactly once, and a value is gone only if somebody who knew it replaced it.
"""

import contextlib
import datetime
import json
import subprocess
import threading
import types
from collections import defaultdict
from pathlib import Path

from hypothesis import strategies as st
from hypothesis.stateful import Bundle, RuleBasedStateMachine, initialize, multiple, rule
from servers import Server
from sqlalchemy import event, text
from twin import node
from werkzeug.serving import WSGIRequestHandler, make_server

from webapp.budgets import BUDGETS
from webapp.store import erasure_rows
from webapp.store.engine import reading, writing
from webapp.store.models import db
from webapp.sync.stored import as_stored
from webapp.web.state import state_of

JOBS = ["01a1a070-0000-7000-8000-000000000001", "01a1a070-0000-7000-8000-000000000002"]
RECORDS = [f"01a1a070-0000-7000-9000-00000000000{n}" for n in range(3)]
FIRST = ("one", "two", "three")
MAX_PHONES = 5
PHONE_FAULTS = (
    "lasting_writer",
    "newest_wins",
    "sent_is_held",
    "erasures_not_brought",
    "full_is_taken",
    "put_away_unproved",
    "numbers_go_on_by_half",
)
SERVER_FAULTS = (
    "marks_not_told",
    "gaps_taken",
    "changes_forgotten",
    "stamps_without_names",
    "later_ones_too",
)
SAVED = ("entry", "clash", "change", "erasure", "erased_entry", "erased_photo")
PLANTED = PHONE_FAULTS + SERVER_FAULTS
WAYS = ["none"] * 4 + ["lost_request", "lost_answer", "twice", "crash", "late"]
FAULTS = st.lists(st.sampled_from(WAYS), max_size=3)


class Crash(Exception):
    """The server ended at the moment of a commit."""


class Link:
    """The WSGI application behind a link that loses, repeats and delays what the header X-Fault says."""

    def __init__(self, app):
        self.app, self.late, self.crash = app, [], False

    def __call__(self, environ, start_response):
        fault = environ.get("HTTP_X_FAULT", "none")
        if environ["REQUEST_METHOD"] == "GET":
            return self.asked(environ, fault, start_response)
        body = environ["wsgi.input"].read(int(environ.get("CONTENT_LENGTH") or 0))
        if fault in ("lost_request", "late"):
            if fault == "late":
                self.late.append(body)
            return self.nothing(start_response)
        if fault == "twice":
            self.client().post("/api/sync", data=body, headers=self.headers(environ))
        self.crash = fault == "crash"
        answer = self.client().post("/api/sync", data=body, headers=self.headers(environ))
        self.crash = False
        if fault == "lost_answer":
            return self.nothing(start_response)
        start_response(answer.status, list(answer.headers.items()))
        return [answer.data]

    def asked(self, environ, fault, start_response):
        """A question that changes nothing: it is answered, or not."""
        answer = self.client().get(environ["PATH_INFO"])
        if fault in ("lost_request", "late", "lost_answer", "crash"):
            return self.nothing(start_response)
        start_response(answer.status, list(answer.headers.items()))
        return [answer.data]

    @staticmethod
    def nothing(start_response):
        """What a phone gets that reaches nobody."""
        start_response("502 Bad Gateway", [("Content-Length", "0")])
        return []

    @staticmethod
    def headers(environ):
        found = {"Content-Type": "application/json"}
        if environ.get("HTTP_CONTENT_ENCODING"):
            found["Content-Encoding"] = environ["HTTP_CONTENT_ENCODING"]
        return found

    def client(self):
        return self.app.test_client()

    def deliver_late(self):
        """Bring what was under way all the time, newest first."""
        for body in reversed(self.late):
            encoding = {"Content-Encoding": "gzip"} if body[:2] == b"\x1f\x8b" else {}
            self.client().post(
                "/api/sync", data=body, headers={"Content-Type": "application/json", **encoding}
            )
        self.late.clear()


class Quiet(WSGIRequestHandler):
    def log(self, *args):
        pass


class World:
    """One server and one process of phones, for all examples of a test."""

    def __init__(self, folder: Path, planted: str = ""):
        self.server = Server(folder)
        self.link = Link(self.server.app)
        self.http = make_server("127.0.0.1", 0, self.link, threaded=False, request_handler=Quiet)
        threading.Thread(target=self.http.serve_forever, daemon=True).start()
        script = Path(__file__).resolve().parent.parent / "js" / "machine_phones.mjs"
        url = f"http://127.0.0.1:{self.http.server_port}"
        self.node = subprocess.Popen(
            [node(), str(script), url, planted if planted in PHONE_FAULTS else ""],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, encoding="utf-8",
        )  # fmt: skip
        with self.server.app.app_context():
            event.listen(db.engine, "commit", self._commit)

    def _commit(self, connection):
        if self.link.crash and connection.get_execution_options().get("write"):
            self.link.crash = False
            raise Crash

    def ask(self, do, **what):
        self.node.stdin.write(json.dumps({"do": do, **what}) + "\n")
        self.node.stdin.flush()
        answer = json.loads(self.node.stdout.readline())
        assert "error" not in answer, answer["error"]
        return answer["ok"]

    def office(self, path, body):
        answer = self.server.client.post(path, json=body)
        assert answer.status_code in (200, 201), answer.text

    def rows(self):
        with self.server.app.app_context(), reading() as connection:
            return {
                table: [tuple(row) for row in connection.execute(text(f"SELECT * FROM {table}"))]
                for table in SAVED
            }

    def put_back(self, rows):
        """The server as it was when ``rows`` were saved."""
        with self.server.app.app_context(), writing() as connection:
            for table in SAVED:
                connection.execute(text(f"DELETE FROM {table}"))
                for row in rows.get(table, ()):
                    names = ", ".join(f":{n}" for n in range(len(row)))
                    connection.execute(
                        text(f"INSERT INTO {table} VALUES ({names})"), {str(n): v for n, v in enumerate(row)}
                    )
        state_of(self.server.app).summaries.__init__(state_of(self.server.app).photos.is_whole)

    def close(self):
        self.http.shutdown()
        self.http.server_close()
        self.node.stdin.close()
        self.node.wait(10)
        self.node.stdout.close()
        with self.server.app.app_context():
            event.remove(db.engine, "commit", self._commit)
        self.server.close()


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


@contextlib.contextmanager
def planted_in_server(fault, monkeypatch):
    """Break the server in one of the ways it must not be broken."""
    if fault == "marks_not_told":
        from webapp.store import entry_rows

        careful_beyond = entry_rows.beyond

        def careless_beyond(*requested):
            for found in careful_beyond(*requested):
                yield found._replace(asides=(None,) * len(found.asides))

        monkeypatch.setattr(entry_rows, "beyond", careless_beyond)
    elif fault == "gaps_taken":
        from webapp.sync.apply import Taking

        careful = Taking.outcome_of

        def careless_fate(self, entry):
            key = (entry["job_id"], entry["writer"])
            if entry["number"] > self._heads[key] + 1:
                self._heads[key] = entry["number"] - 1
            return careful(self, entry)

        monkeypatch.setattr(Taking, "outcome_of", careless_fate)
    elif fault == "changes_forgotten":
        from webapp.store import change_rows

        careful_since = change_rows.since
        monkeypatch.setattr(
            change_rows, "since", lambda *asked: None if careful_since(*asked) is None else {}
        )
    elif fault == "stamps_without_names":
        from webapp.store import change_rows

        monkeypatch.setattr(change_rows.secrets, "token_hex", lambda size: "0" * 2 * size)
    elif fault == "later_ones_too":
        from webapp.records.erasure import Act

        monkeypatch.setattr(Act, "covers", lambda self, writer, number: writer in self.spans)
    yield
