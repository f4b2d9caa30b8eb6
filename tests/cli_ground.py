"""What the calls of cli_matrix.py meet: how each command is called, and files good and bad."""

import json
import os
import shutil
import sqlite3
import tempfile
import threading
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from command_runner import Runner

from webapp import paths, tables
from webapp.commands.registry import OLD_NAMES, ROWS
from webapp.lan import certificates

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
    "certificate show": on_data("certificate", "show"),
    "certificate renew": on_data("certificate", "renew", changes=True),
    "audit": on_data("audit", changes=True),
    "erase": on_data("erase", "--list", changes=True),
    "check-data": on_data("check-data"),
    "clean": on_data("clean", changes=True),
    "backup": Spec(data=("backup", "{folder}", "--data", "{data}"),
                   writes=("backup", "{out}", "--data", "{data}")),
    "restore": Spec(reads=("restore", "{in}", "--create", "--data", "{new}"), good="backup", dash=False),
    "salvage": Spec(data=("salvage", "{folder}", "--data", "{data}"),
                    writes=("salvage", "{out}", "--data", "{data}")),
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
        why = ("--reason", "wrong site", "--data", good / "data")
        self._ok("erase", JOB_ID, "--whole-job", *why)
        self._ok("erase", "--undo", "wrong site", "--data", good / "data")
        with sqlite3.connect(good / "data" / "fallbook.sqlite") as connection:
            connection.execute(
                "INSERT INTO device (id, name, role, secret_sha256, created_at) "
                "VALUES ('01a1a070-0000-7000-8000-000000000001', 'Van 1', 'surveyor', 'x', '2026-11-01')"
            )
        connection.close()
        certificates.leaf(good / "data", ["localhost"])
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
