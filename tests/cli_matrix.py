"""Every command with every kind of bad input: what is called, and with what.

``python3 tests/cli_matrix.py`` prints the table of commands and inputs.
"""

import contextlib
import json
import os
import shutil
import sqlite3
import tempfile
import threading
import time
from collections import Counter
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from command_runner import Runner

from webapp import paths, tables
from webapp.commands.registry import OLD_NAMES, ROWS

SAMPLE = paths.SAMPLE_JOBS / "school_foul_drain"
JOB = json.loads((SAMPLE / "job.json").read_text(encoding="utf-8"))
JOB_ID = JOB["job_id"]
TITLE = next(r["fields"]["title"] for r in JOB["records"] if r["kind"] == "job")
URL = "https://book.example"
HUGE_BYTES = 3_000_000_000


@dataclass(frozen=True)
class Spec:
    """How one command is called: reading a file, on a data folder, writing a file; or none of these."""

    plain: tuple = ()
    reads: tuple = ()
    data: tuple = ()
    writes: tuple = ()
    good: str = "job.json"  # the file for {in}
    dash: bool = True  # takes - for {in}
    makes: bool = False  # makes its data folder
    serves: bool = False  # goes on until it is stopped
    changes: bool = False  # writes to the data folder


def on_data(*words, **more):
    return Spec(data=(*words, "--data", "{data}"), **more)


def with_job(word, *more, **own):
    return Spec(reads=(word, "{in}", *more), data=(word, JOB_ID[:13], *more, "--data", "{data}"), **own)


LINK = ("--url", URL)
READINGS = ("--run", "F1", "--plus", "falling", "--data", "{data}")
SPECS = {
    "demo": on_data("demo", "--port", "0", serves=True, makes=True, changes=True),
    "serve": on_data("serve", "--port", "0", serves=True, makes=True, changes=True),
    "recipe": Spec(plain=("recipe", "systemd")),
    "jobs": on_data("jobs"),
    "export": with_job("export", writes=("export", "{in}", "-o", "{out}")),
    "import": Spec(reads=("import", "{in}", "--data", "{data}"), data=("import", "{in}", "--data", "{data}"),
                   changes=True),
    "readings import": Spec(reads=("readings", "import", "{in}", *READINGS), changes=True, dash=False,
                            data=("readings", "import", "{in}", *READINGS), good="log.csv"),
    "check": with_job("check"),
    "pack": with_job("pack", "-o", "-", writes=("pack", "{in}", "-o", "{out}")),
    "verify": Spec(reads=("verify", "{in}"), good="pack.zip"),
    "figures": with_job("figures"),
    "invite": on_data("invite", *LINK, changes=True),
    "device list": on_data("device", "list", changes=True),
    "device end": on_data("device", "end", "Van 1", changes=True),
    "link add": on_data("link", "add", TITLE, *LINK, changes=True),
    "link list": on_data("link", "list", changes=True),
    "link end": on_data("link", "end", "Client 1", changes=True),
    "credential add": on_data("credential", "add", "--name", "Copy", changes=True),
    "credential list": on_data("credential", "list", changes=True),
    "credential end": on_data("credential", "end", "Script 1", changes=True),
    "audit": on_data("audit", changes=True),
    "check-data": on_data("check-data"),
    "backup": Spec(data=("backup", "{folder}", "--data", "{data}"),
                   writes=("backup", "{out}", "--data", "{data}")),
    "restore": Spec(reads=("restore", "{in}", "--create", "--data", "{new}"), good="backup", dash=False),
    "migrate": on_data("migrate", "--to-database", "sqlite:///{folder}.sqlite", changes=True),
    "codes": Spec(plain=("codes",), reads=("codes", "{in}"), good="codes.json"),
    "grading-limits": Spec(plain=("grading-limits",), reads=("grading-limits", "{in}"), good="limits.json"),
    "sample list": Spec(plain=("sample", "list")),
    "sample show": Spec(plain=("sample", "show", SAMPLE.name)),
    "sample copy": Spec(writes=("sample", "copy", SAMPLE.name, "-o", "{out}")),
    "schema": Spec(plain=("schema",)),
    "selfcheck": Spec(plain=("selfcheck",), reads=("selfcheck", "{in}"), good="vectors.json"),
    # names of earlier versions
    "devices": on_data("devices", changes=True),
    "revoke": on_data("revoke", "Van 1", changes=True),
    "client-link": on_data("client-link", JOB_ID, *LINK, changes=True),
    "client-links": on_data("client-links", changes=True),
    "import-readings": Spec(reads=("import-readings", "{in}", *READINGS), changes=True, dash=False,
                            data=("import-readings", "{in}", *READINGS), good="log.csv"),
}  # fmt: skip
NAMES = [row.words for row in (*ROWS, *OLD_NAMES)]
LISTS = {
    "readings import",
    "import-readings",
    "selfcheck",
}  # they print what they could use before they refuse

CODES = {
    "format": "fallbook-codes",
    "version": 1,
    "client": "Vale Water (invented)",
    "rows": [{"code": "XLA", "title": "Step iron", "search_words": "ladder rung"}],
}


class Ground:
    """The files and folders that the calls meet, each made once and copied where a call may change it."""

    def __init__(self, runner: Runner, folder: Path) -> None:
        self.runner, self.folder, self._count = runner, folder, 0
        for name in ("here", "home", "tmp", "good", "bad"):
            (folder / name).mkdir()
        self._make_good()
        self._make_bad()

    def new(self, name: str) -> Path:
        self._count += 1
        return self.folder / "here" / f"{name}{self._count}"

    def _make_good(self) -> None:
        good = self.folder / "good"
        shutil.copytree(SAMPLE, good, dirs_exist_ok=True)
        (good / "codes.json").write_text(json.dumps(CODES), encoding="utf-8")
        (good / "limits.json").write_text(json.dumps(tables.shipped("grading_limits")), encoding="utf-8")
        vectors = json.loads((paths.TABLES / "reference_vectors.json").read_text(encoding="utf-8"))
        (good / "vectors.json").write_text(json.dumps(vectors[:5]), encoding="utf-8")
        (good / "log.csv").write_text("Distance (m);Pitch (deg)\n50,25;-0,7\n51,50;-0,8\n", encoding="utf-8")
        self._ok("import", "--create", SAMPLE, "--data", good / "data")
        self._ok("pack", SAMPLE, "-o", good / "pack.zip")
        self._ok("link", "add", JOB_ID, "--name", "Client 1", "--url", URL, "--data", good / "data")
        self._ok("credential", "add", "--name", "Script 1", "--data", good / "data")
        with sqlite3.connect(good / "data" / "fallbook.sqlite") as connection:
            connection.execute(
                "INSERT INTO device (id, name, role, secret_sha256, created_at) "
                "VALUES ('01a1a070-0000-7000-8000-000000000001', 'Van 1', 'surveyor', 'x', '2026-11-01')"
            )
        connection.close()
        self._ok("backup", good / "backup", "--data", good / "data")

    def _ok(self, *words) -> None:
        done = self.runner.run(words)
        assert done.code == 0, (words, done)

    def _make_bad(self) -> None:
        bad, good = self.folder / "bad", self.folder / "good"
        (bad / "empty").write_bytes(b"")
        (bad / "picture").write_bytes(b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 8)
        (bad / "other.json").write_text('{"format": "something-else", "rows": [1, 2]}')
        (bad / "not_utf8.json").write_bytes(b'{"format": "fallbook-job", "title": "\xff\xfe\x80"}')
        (bad / "half.json").write_bytes((good / "job.json").read_bytes()[:20_000])
        (bad / "half.zip").write_bytes((good / "pack.zip").read_bytes()[:200_000])
        (bad / "deep.json").write_text("[" * 200_000 + "]" * 200_000)
        with (bad / "huge.json").open("wb") as file:
            file.write(b'{"format": "fallbook-job", ')
            file.truncate(HUGE_BYTES)
        (bad / "unreadable").write_bytes(b"{}")
        (bad / "unreadable").chmod(0)
        (bad / "folder").mkdir()
        for name in ("empty_data", "damaged", "unreadable_data"):
            (bad / name).mkdir()
        (bad / "damaged" / "fallbook.sqlite").write_bytes(b"SQLite format 3\0" + b"\xff" * 9000)
        shutil.copy(good / "data" / "fallbook.sqlite", bad / "unreadable_data" / "fallbook.sqlite")
        (bad / "unreadable_data" / "fallbook.sqlite").chmod(0)
        (bad / "not_whole").mkdir()
        (bad / "not_whole" / "fallbook.sqlite").write_bytes(b"")

    def data(self) -> Path:
        """Return a data folder of its own, as a call finds it."""
        target = self.new("data")
        shutil.copytree(self.folder / "good" / "data", target)
        return target

    def words(self, spec: Spec, form: tuple, **own) -> list[str]:
        """Return the words of a call; what is not named is good."""
        text = " ".join(map(str, form))
        given = {
            "in": self.folder / "good" / spec.good,
            "data": own.get("data") or (self.data() if "{data}" in text else ""),
            "out": self.new("out"),
            "folder": self.new("folder"),
            "new": self.new("new"),
            **{k: v for k, v in own.items() if v is not None},
        }
        return [str(word).format(**given) for word in form]


@contextmanager
def held(database: Path):
    """Hold a database as another process does that is in the middle of writing."""
    connection = sqlite3.connect(database, isolation_level=None)
    connection.execute("PRAGMA journal_mode=DELETE")
    connection.execute("BEGIN EXCLUSIVE")
    try:
        yield
    finally:
        connection.close()


@contextmanager
def pipe_of(folder: Path, data: bytes):
    """A named pipe that somebody writes into and leaves."""
    path = folder / f"pipe{threading.get_ident()}"
    os.mkfifo(path, 0o666)
    os.chmod(path, 0o666)

    def write() -> None:
        try:
            with open(path, "wb") as file:
                file.write(data)
        except OSError:
            pass

    writer = threading.Thread(target=write, daemon=True)
    writer.start()
    try:
        yield path
    finally:
        # Whoever never opened it would leave the writer waiting.
        os.close(os.open(path, os.O_RDONLY | os.O_NONBLOCK))
        writer.join(5)
        path.unlink()


class Cells:
    """The calls of one command, one a column; each returns what came of it, or None where it has none."""

    def __init__(self, ground: Ground, name: str) -> None:
        self.ground, self.name, self.spec = ground, name, SPECS[name]
        self.bad, self.run = ground.folder / "bad", ground.runner.run

    def any_form(self) -> tuple:
        spec = self.spec
        return spec.plain or spec.reads or spec.data or spec.writes

    def call(self, form: tuple, **own):
        if not form:
            return None
        streams = {k: own.pop(k) for k in ("stdin", "stdout", "stderr", "env") if k in own}
        words = self.ground.words(self.spec, form, **own)
        return self.stopped(self.ground.runner.start(words, **streams), 3 if "stdout" in streams else 30)

    def stopped(self, call, after_s=30):
        """A server that has started, or that says nothing for a while, is stopped as with Ctrl-C."""
        end = time.monotonic() + after_s
        while self.spec.serves and not call.over():
            if "Stop with" in call.said() or time.monotonic() > end:
                time.sleep(0.3)  # until it listens for that too
                call.interrupt()
                break
            time.sleep(0.005)
        return call.result()

    # the call itself

    def good(self):
        return self.call(self.any_form())

    def on_a_file(self):
        return self.call(self.spec.reads)

    def help(self):
        return self.run([*self.name.split(), "--help"])

    def option_unknown(self):
        return self.run([*self.name.split(), "--nope"])

    def word_too_many(self):
        return self.run([*self.ground.words(self.spec, self.any_form()), "--", "a", "b", "c"])

    # what is read

    def reads(self, path, **more):
        return self.call(self.spec.reads, **{"in": path}, **more) if self.spec.reads else None

    def in_missing(self):
        return self.reads(self.bad / "none" / "none.json")

    def in_empty(self):
        return self.reads(self.bad / "empty")

    def in_wrong_kind(self):
        return self.reads(self.bad / "picture")

    def in_other_json(self):
        return self.reads(self.bad / "other.json")

    def in_not_utf8(self):
        return self.reads(self.bad / "not_utf8.json")

    def in_half_json(self):
        return self.reads(self.bad / "half.json")

    def in_half_zip(self):
        return self.reads(self.bad / "half.zip")

    def in_too_deep(self):
        return self.reads(self.bad / "deep.json")

    def in_huge(self):
        return self.reads(self.bad / "huge.json")

    def in_folder(self):
        return self.reads(self.bad / "folder")

    def in_unreadable(self):
        return self.reads(self.bad / "unreadable")

    def in_device(self):
        return self.reads("/dev/zero")

    def in_name_not_utf8(self):
        return self.reads(f"{self.bad}/none\udcff.json")

    def dashed(self, stdin):
        return self.reads("-", stdin=stdin) if self.spec.dash else None

    def stdin_good(self):
        good = self.ground.folder / "good" / self.spec.good
        return self.dashed(good) if good.is_file() else None

    def stdin_empty(self):
        return self.dashed(os.devnull)

    def stdin_closed(self):
        return self.dashed(None)

    def piped(self):
        good = self.ground.folder / "good" / self.spec.good
        if not self.spec.reads or not good.is_file():
            return None
        with pipe_of(self.ground.folder / "here", good.read_bytes()) as path:
            return self.reads(path)

    def pipe_cut(self):
        if not self.spec.reads or not self.spec.dash:
            return None
        data = (self.ground.folder / "good" / self.spec.good).read_bytes()
        with pipe_of(self.ground.folder / "here", data[: len(data) // 2]) as path:
            return self.reads(path)

    # the data folder

    def on_data(self, path, **more):
        return self.call(self.spec.data, data=path, **more) if "{data}" in self.spec.data else None

    def data_good(self):
        return self.call(self.spec.data)

    def data_missing(self):
        target = self.ground.new("typo")
        done = self.on_data(target)
        assert done is None or self.spec.makes or not target.exists(), "a mistyped folder was made"
        return done

    def data_empty(self):
        return self.on_data(self.bad / "empty_data") if not self.spec.makes else None

    def data_is_a_file(self):
        return self.on_data(self.bad / "empty")

    def data_below_a_file(self):
        return self.on_data(self.bad / "empty" / "data")

    def data_damaged(self):
        return self.on_data(self.copy_of("damaged"))

    def data_not_whole(self):
        return self.on_data(self.copy_of("not_whole"))

    def data_unreadable(self):
        return self.on_data(self.bad / "unreadable_data")

    def data_only_to_read(self):
        target = self.ground.data()
        for one in (*target.rglob("*"), target):
            one.chmod(0o555 if one.is_dir() else 0o444)
        return self.on_data(target)

    def begin_on(self, target):
        """Start the call on a data folder, to be waited for with others."""
        return self.ground.runner.start(self.ground.words(self.spec, self.spec.data, data=target))

    def copy_of(self, name):
        target = self.ground.new(name)
        shutil.copytree(self.bad / name, target)
        return target

    # what is written

    def writes(self, out, **more):
        return self.call(self.spec.writes, out=out, **more) if self.spec.writes else None

    def out_new(self):
        return self.writes(self.ground.new("new"))

    def out_there(self):
        target = self.ground.new("there")
        target.write_text("mine")
        done = self.writes(target)
        assert done is None or target.read_text() == "mine", "a file was replaced unasked"
        return done

    def out_folder(self):
        target = self.ground.new("folder")
        (target / "mine").mkdir(parents=True)
        return self.writes(target)

    def out_nowhere(self):
        return self.writes(self.bad / "empty" / "x")

    def out_only_to_read(self):
        target = self.ground.new("folder")
        target.mkdir()
        target.chmod(0o555)
        done = self.writes(target / "x.zip")
        assert done is None or done.code
        return done

    def out_full(self):
        return self.writes("/dev/full")

    def stdout_full(self):
        return self.call(self.any_form(), stdout="/dev/full")

    def stdout_closed(self):
        return self.call(self.any_form(), stdout=None)

    def reader_gone(self):
        """The reader of its output leaves before anything has come, as the end of `| head` does."""
        path = self.ground.folder / "here" / f"gone{id(self)}"
        os.mkfifo(path)
        reader = os.open(path, os.O_RDONLY | os.O_NONBLOCK)
        try:
            words = self.ground.words(self.spec, self.any_form())
            call = self.ground.runner.start(words, stdout=path)
            os.close(reader)
            return self.stopped(call, 3)
        finally:
            path.unlink()

    def all_full(self):
        return self.call(self.any_form(), stdout="/dev/full", stderr="/dev/full")

    # stopped on the way

    def interrupted(self):
        """Ctrl-C while it waits for its input, or somewhere on the way."""
        if self.spec.reads and self.spec.dash:
            path = self.ground.folder / "here" / f"waits{id(self)}"
            os.mkfifo(path, 0o666)
            os.chmod(path, 0o666)
            writer = os.open(path, os.O_RDWR)
            words = self.ground.words(self.spec, self.spec.reads, **{"in": "-"})
            call = self.ground.runner.start(words, stdin=path)
            time.sleep(0.5)
        else:
            writer = path = None
            call = self.ground.runner.start(self.ground.words(self.spec, self.any_form()))
            time.sleep(0.03)
        call.interrupt()
        done = call.result()
        if writer is not None:
            os.close(writer)
            path.unlink()
        return done


OWN = {"any_form", "call", "stopped", "reads", "dashed", "on_data", "copy_of", "writes", "begin_on"}
COLUMNS = [name for name in vars(Cells) if not name.startswith("_") and name not in OWN]


def all_held(ground: Ground) -> dict:
    """Call every command on a data folder that another process holds, all at once: each waits for a while."""
    names = [name for name in NAMES if "{data}" in SPECS[name].data]
    with contextlib.ExitStack() as stack:
        begun = {}
        for name in names:
            target = ground.data()
            stack.enter_context(held(target / "fallbook.sqlite"))
            begun[name] = Cells(ground, name).begin_on(target)
        return {name: call.result(120) for name, call in begun.items()}


@contextmanager
def ground():
    """Everything ready for calls, in a folder that the runner's user can reach."""
    folder = Path(tempfile.mkdtemp(prefix="fallbook-calls-"))
    folder.chmod(0o755)
    runner = Runner(folder)
    try:
        yield Ground(runner, folder)
    finally:
        runner.close()
        for one in folder.rglob("*"):
            if one.is_dir() and not one.is_symlink():
                one.chmod(0o755)
        shutil.rmtree(folder, ignore_errors=True)


GROUPS = {
    "called well": ("good", "on_a_file", "stdin_good", "piped", "data_good", "out_new", "help"),
    "called wrongly": ("option_unknown", "word_too_many"),
    "file missing, empty, wrong, cut": (
        "in_missing", "in_empty", "in_wrong_kind", "in_other_json", "in_not_utf8", "in_half_json",
        "in_half_zip", "in_too_deep", "in_folder", "in_name_not_utf8", "stdin_empty", "stdin_closed",
        "pipe_cut",
    ),
    "file huge, endless, unreadable": ("in_huge", "in_device", "in_unreadable"),
    "data folder missing, empty, a file, damaged, unreadable": (
        "data_missing", "data_empty", "data_is_a_file", "data_below_a_file", "data_damaged", "data_not_whole",
        "data_unreadable",
    ),
    "data folder only to read": ("data_only_to_read",),
    "data folder held": ("data_held",),
    "output there, a folder, nowhere, only to read, full": (
        "out_there", "out_folder", "out_nowhere", "out_only_to_read", "out_full",
    ),
    "standard output full, closed, its reader gone": (
        "stdout_full", "stdout_closed", "reader_gone", "all_full",
    ),
    "Ctrl-C": ("interrupted",),
}  # fmt: skip


def main() -> None:
    """Print the table: how many calls of each group ended with which exit code."""
    print("| command | " + " | ".join(GROUPS) + " |\n" + "|---" * (len(GROUPS) + 1) + "|")
    with ground() as place:
        busy = all_held(place)
        for name in NAMES:
            cells = Cells(place, name)
            found = {column: getattr(cells, column)() for column in COLUMNS} | {"data_held": busy.get(name)}
            told = []
            for columns in GROUPS.values():
                codes = Counter(found[column].code for column in columns if found[column] is not None)
                told.append(
                    ", ".join(f"{code}" + (f" x{n}" if n > 1 else "") for code, n in sorted(codes.items()))
                )
            print(f"| {name} | " + " | ".join(told) + " |", flush=True)


if __name__ == "__main__":
    main()
