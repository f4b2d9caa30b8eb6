"""Windows and macOS, as far as they can be seen from here: names that POSIX alone has, locks, file names.

The real systems are not among what the tests run on; ``windows_like.py`` says what it pretends.
"""

import ast
import json
import os
import re
import signal
import subprocess
import sys
import time
import urllib.request
import zipfile
from pathlib import Path

import pytest
from forked_calls import make_calls
from server_process import free_port

from webapp import paths
from webapp.store import folder, photo_storage

ROOT = Path(__file__).resolve().parent.parent
POSIX_ONLY = json.loads((ROOT / "tests" / "posix_only.json").read_text(encoding="utf-8"))
SAMPLE = paths.SAMPLE_JOBS / "school_foul_drain"
LIKE_WINDOWS = [sys.executable, str(ROOT / "tests" / "windows_like.py")]
COMMAND = [sys.executable, "-c", "from webapp.cli import main; main()"]
ILLEGAL = re.compile(r'[<>:"\\|?*\x00-\x1f]|[. ]$|^(con|prn|aux|nul|com\d|lpt\d)(\.|$)', re.IGNORECASE)


# Names that POSIX alone has


def says_which_system(test):
    return bool(re.search(r"os\.name|sys\.platform|hasattr\(", ast.unparse(test)))


def leaves(body):
    return isinstance(body[-1], ast.Return | ast.Raise)


def unguarded(tree):
    """Yield every use of a POSIX-only name that no question about the system stands before."""

    def walk(node, guarded):
        yield from used(node) if not guarded else ()
        for name, value in ast.iter_fields(node):
            if not isinstance(value, list):
                if isinstance(value, ast.AST):
                    yield from walk(value, guarded)
                continue
            own = guarded or (isinstance(node, ast.If) and says_which_system(node.test))
            own = own or (isinstance(node, ast.Try) and name == "body" and catches_absence(node))
            for one in value:
                if isinstance(one, ast.AST):
                    yield from walk(one, own)
                    own = own or (
                        isinstance(one, ast.If) and says_which_system(one.test) and leaves(one.body)
                    )

    def used(node):
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
            if node.attr in POSIX_ONLY["names"].get(node.value.id, ()):
                yield f"{node.value.id}.{node.attr}, line {node.lineno}"
        elif isinstance(node, ast.ImportFrom) and not node.level:
            for one in node.names:
                if node.module in POSIX_ONLY["modules"] or one.name in POSIX_ONLY["names"].get(
                    node.module, ()
                ):
                    yield f"{node.module}.{one.name}, line {node.lineno}"
        elif isinstance(node, ast.Import):
            for one in node.names:
                if one.name in POSIX_ONLY["modules"]:
                    yield f"{one.name}, line {node.lineno}"

    yield from walk(tree, False)


def catches_absence(node):
    return any(
        h.type and re.search("ImportError|ModuleNotFound|AttributeError", ast.unparse(h.type))
        for h in node.handlers
    )


def test_no_name_that_posix_alone_has_is_used_unasked():
    found = {}
    for path in sorted((ROOT / "webapp").rglob("*.py")):
        if uses := list(unguarded(ast.parse(path.read_text(encoding="utf-8")))):
            found[path.relative_to(ROOT).as_posix()] = uses
    assert found == {}


@pytest.mark.parametrize(
    ("text", "count"),
    [
        ("import os\nos.fork()", 1),
        ("import fcntl", 1),
        ("from os import O_DIRECTORY", 1),
        ("import signal\ndef f():\n    os.kill(1, signal.SIGKILL)", 1),
        ("if os.name != 'nt':\n    import fcntl", 0),
        ("def f():\n    if os.name == 'nt':\n        return\n    os.open('.', os.O_DIRECTORY)", 0),
        ("def f():\n    os.sync()\n    if os.name == 'nt':\n        return", 1),
        ("try:\n    import resource\nexcept ImportError:\n    resource = None", 0),
        ("if hasattr(os, 'geteuid'):\n    os.geteuid()", 0),
        ("if ready:\n    os.geteuid()", 1),
    ],
)
def test_the_scan_sees_one(text, count):
    assert len(list(unguarded(ast.parse(text)))) == count


def test_the_list_of_names_is_not_invented():
    import select
    import socket

    here = {"os": os, "signal": signal, "socket": socket, "select": select, "time": time}
    for module, names in POSIX_ONLY["names"].items():
        known = [n for n in names if hasattr(here[module], n)]
        assert len(known) > len(names) * 0.6, module  # the rest is of other systems and later versions


# As Windows would


class System32:
    """The two programs of Windows that are called, writing down what they were told."""

    def __init__(self, folder, *, broken=False):
        self.root, self.reported = folder, folder / "reported.txt"
        programs = folder / "System32"
        programs.mkdir(parents=True)
        answer = "exit 5" if broken else 'echo \'"van\\\\surveyor","S-1-5-21-1-2-3-1001"\''
        for name in ("whoami", "icacls"):
            path = programs / f"{name}.exe"
            path.write_text(f'#!/bin/sh\necho "{name} $*" >> "{self.reported}"\n{answer}\n', encoding="utf-8")
            path.chmod(0o755)

    @property
    def lines(self):
        return self.reported.read_text(encoding="utf-8").splitlines() if self.reported.exists() else []


def like_windows(folder, *words, code=0, **environment):
    env = {**os.environ, "PYTHONPATH": str(ROOT), "SystemRoot": str(folder / "windows"), **environment}
    done = subprocess.run(
        [*LIKE_WINDOWS, *map(str, words)], capture_output=True, cwd=folder, env=env, timeout=120, check=False
    )
    assert done.returncode == code, done.stderr.decode("utf-8", "replace")[-2000:]
    assert b"Traceback" not in done.stderr
    return done.stdout.decode("utf-8")


def test_jobs_packs_and_backups_as_on_windows(tmp_path):
    """Files are copied, renamed over one another and locked without anything that Windows lacks."""
    calls = (
        ("sample", "copy", SAMPLE.name, "-o", "school"),
        ("import", "--create", "--data", "data", "school"),
        ("pack", "school", "-o", "school.zip"),
        ("pack", "school", "-o", "school.zip", "--force"),
        ("verify", "school.zip"),
        ("check", "school"),
        ("check-data", "--data", "data"),
        ("backup", "copy", "--data", "data"),
        ("backup", "copy", "--data", "data"),
        ("restore", "copy", "--data", "again", "--create"),
        ("check-data", "--data", "again"),
        ("figures", "school"),
        ("jobs", "--data", "again"),
    )
    streams = tmp_path / "streams"
    streams.mkdir()
    env = {**os.environ, "PYTHONPATH": str(ROOT), "SystemRoot": str(tmp_path / "windows")}
    start, made = make_calls(calls, streams, start=[*LIKE_WINDOWS, "--calls"], cwd=tmp_path, env=env)
    assert len(made) == len(calls), start.stderr
    for words, code, _, errors in made:
        assert code == 0 and b"Traceback" not in errors, (words, errors[-2000:])
    figures, jobs = (out.decode("utf-8") for _, _, out, _ in made[-2:])
    assert "LEVELS" in figures.upper() and "Tarnholt" in jobs


def test_what_windows_cannot_do_is_said(tmp_path):
    System32(tmp_path / "windows")
    like_windows(tmp_path, "serve", "--data", "d", "--port", 0, code=2, FALLBOOK_SHARED="1")
    like_windows(tmp_path, "pack", SAMPLE, "-o", "a:b", code=2)
    assert sorted(p.name for p in tmp_path.iterdir()) == ["windows"]


def test_the_server_as_on_windows_keeps_its_keys_and_its_folder_to_itself(tmp_path):
    windows = System32(tmp_path / "windows")
    ports = {"--port": free_port(), "--lan-port": free_port(), "--setup-port": free_port()}
    lan = [
        "serve",
        "--lan",
        "--name",
        "fieldbox.local",
        "--host",
        "127.0.0.1",
        "--data",
        str(tmp_path / "data"),
    ]
    lan += [str(word) for pair in ports.items() for word in pair]
    env = {**os.environ, "PYTHONPATH": str(ROOT), "SystemRoot": str(windows.root)}
    log = tmp_path / "log.txt"
    with log.open("wb") as file:
        process = subprocess.Popen([*LIKE_WINDOWS, *lan], stdout=file, stderr=file, cwd=tmp_path, env=env)
    try:
        answer = until_it_answers(process, f"http://127.0.0.1:{ports['--port']}/healthz", log)
        assert answer == 200
        like_windows(tmp_path, "serve", "--data", "data", "--port", 0, code=2)
    finally:
        process.send_signal(signal.SIGINT)
        assert process.wait(30) == 0, log.read_text(encoding="utf-8")
    grants = "*S-1-5-21-1-2-3-1001:(OI)(CI)F *S-1-5-18:(OI)(CI)F"
    own = f"icacls {tmp_path / 'data' / 'certificates'} /inheritance:r /grant:r {grants}"
    assert windows.lines.count(own) == 1, windows.lines


def until_it_answers(process, url, log):
    end = time.monotonic() + 60
    while time.monotonic() < end and process.poll() is None:
        try:
            with urllib.request.urlopen(url, timeout=2) as answer:
                return answer.status
        except OSError:
            time.sleep(0.05)
    raise AssertionError(log.read_text(encoding="utf-8"))


@pytest.mark.parametrize("inside", [True, False])
def test_where_no_access_list_can_be_set_only_the_profile_will_do(tmp_path, inside):
    System32(tmp_path / "windows", broken=True)
    home = tmp_path if inside else tmp_path / "profile"
    home.mkdir(exist_ok=True)
    made = (
        "from pathlib import Path; from webapp.store.private import private_folder; "
        f"private_folder(Path({str(tmp_path / 'keys')!r})); print('made')"
    )
    script = f"import windows_like; exec({made!r}, {{'__name__': 'webapp.x'}})"
    found = os.pathsep.join([str(ROOT), str(ROOT / "tests")])
    env = {**os.environ, "PYTHONPATH": found, "SystemRoot": str(tmp_path / "windows"), "HOME": str(home)}
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, encoding="utf-8", env=env, check=False
    )
    assert ("made" in done.stdout) is inside, done.stderr
    assert inside or "the keys cannot be kept from other users" in done.stderr


def test_on_macos_bytes_go_through_the_drive_s_own_memory(tmp_path, monkeypatch):
    import fcntl

    requested, plain = [], os.fsync
    monkeypatch.setattr(folder.sys, "platform", "darwin")
    monkeypatch.setattr(fcntl, "F_FULLFSYNC", 51, raising=False)
    monkeypatch.setattr(fcntl, "fcntl", lambda _handle, call: requested.append(call))
    monkeypatch.setattr(os, "fsync", lambda handle: requested.append("fsync") or plain(handle))
    place = photo_storage.FolderStorage(tmp_path)
    sha256 = "ab" * 32
    place.put(sha256, b"x")
    place.settle([sha256])
    assert requested.count(51) >= 3 and "fsync" not in requested, (
        "the file, its folder, and the folder's name"
    )

    def unknown(_handle, _call):
        raise OSError(25, "Inappropriate ioctl for device")

    monkeypatch.setattr(fcntl, "fcntl", unknown)
    place.put("cd" * 32, b"y")
    assert "fsync" in requested, "a disk of another kind"


def test_every_name_in_a_pack_is_one_that_windows_takes(tmp_path):
    job = json.loads((SAMPLE / "job.json").read_bytes())
    for record in job["records"]:
        if record["kind"] in ("job", "run", "photo"):
            for field in ("title", "run_ref", "caption", "reference"):
                if record["fields"].get(field):
                    record["fields"][field] = 'CON: a/b\\c? "x".'
    job.pop("entries", None)
    (tmp_path / "job.json").write_text(json.dumps(job), encoding="utf-8")
    (tmp_path / "photos").symlink_to(SAMPLE / "photos")
    subprocess.run(
        [*COMMAND, "pack", str(tmp_path), "-o", str(tmp_path / "x.zip")],
        check=True,
        cwd=ROOT,
        capture_output=True,
    )
    with zipfile.ZipFile(tmp_path / "x.zip") as pack:
        names = pack.namelist()
    assert len(names) > 10
    for name in names:
        assert not any(ILLEGAL.search(part) for part in name.split("/")), name
