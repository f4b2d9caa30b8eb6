"""`fallbook salvage`: everything readable comes out of a damaged data folder, which is only read."""

import hashlib
import json
import random
import shutil
import sqlite3
from contextlib import closing

import pytest
from click.testing import CliRunner
from damaged_book import Book, noise, spoil, zeros
from servers import Server, entry

from webapp.cli import main
from webapp.upkeep import salvage

PHOTO = b"not really a picture"
NAME = hashlib.sha256(PHOTO).hexdigest()


def quiet(_what, _done):
    return None


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    one = Book(tmp_path_factory.mktemp("salvage") / "data")
    yield one
    one.server.close()


@pytest.fixture(scope="module")
def rows_on(book):
    """The identities of the entries that lie on each page, and the pages that each entry goes on to."""
    found = {}
    for page in salvage.Pages(book.path).pages():
        for row in page.rows:
            if len(row) >= 9:
                found.setdefault(page.number, set()).add(row[:3])
    everything = {(job, *row[:2]) for job, rows in book.rows.items() for row in rows}
    assert set().union(*found.values()) == everything
    return found


def run(*words):
    return CliRunner().invoke(main, [str(word) for word in words])


def state_of_files(folder):
    return {
        path.relative_to(folder): (path.read_bytes(), path.stat().st_mtime_ns)
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def rows_of(folder):
    with closing(sqlite3.connect(folder / "fallbook.sqlite")) as connection:
        return set(connection.execute("SELECT * FROM entry"))


@pytest.mark.parametrize("seed", range(25))
def test_every_row_on_a_whole_page_comes_out_as_it_was(book, rows_on, seed):
    damaged = spoil(book.bytes, random.Random(1000 + seed), lowest=0)
    book.put(damaged)
    found = salvage.look(book.server.folder, quiet)
    size = 4096
    spoilt = {n + 1 for n in range(book.pages) if damaged[n * size :][:size] != book.bytes[n * size :][:size]}
    long = {key for key in found.entries if len(found.entries[key]["body"]) > 900}
    wanted = set().union(*(rows for number, rows in rows_on.items() if number not in spoilt))
    wanted = {(job, *row[:2]) for job in book.whole() for row in book.rows[job]} | {
        key for key in wanted if key in long or len(original(book, key)[2]) < 900
    }
    assert wanted <= set(found.entries)
    for (job, writer, number), row in found.entries.items():
        assert tuple(row[n] for n in ("writer", "number", "body", "sha256", "aside")) == original(
            book, (job, writer, number)
        )


def original(book, key):
    return next(row for row in book.rows[key[0]] if row[:2] == key[1:])


def test_rows_come_out_of_a_page_whose_head_is_gone(book):
    """The cells of an overwritten header are found byte by byte."""
    for n in range(book.pages):
        if book.bytes[n * 4096] == 10 and b'"kind":"reading"' in book.bytes[n * 4096 : n * 4096 + 4096]:
            break
    book.put(book.bytes[: n * 4096] + bytes(12) + book.bytes[n * 4096 + 12 :])
    assert book.whole() != set(book.jobs)
    found = salvage.look(book.server.folder, quiet)
    assert set(found.entries) == {(job, *row[:2]) for job, rows in book.rows.items() for row in rows}


@pytest.mark.parametrize("files", [False, True])
def test_the_new_folder_holds_it_and_the_damaged_one_is_untouched(tmp_path, files):
    book = Book(tmp_path / "data")
    first = next(iter(book.jobs))
    fields = {"sha256": NAME, "size_bytes": len(PHOTO), "media_type": "image/jpeg"}
    book.server.fates([entry(first, "writer-p", 1, "photo", fields)])
    headers = {"Upload-Offset": 0, "Upload-Length": len(PHOTO), "Content-Type": "image/jpeg"}
    assert book.server.client.put(f"/api/photos/{NAME}", data=PHOTO, headers=headers).json["complete"]
    book.server.close()
    whole = rows_of(tmp_path / "data")
    with book.path.open("r+b") as file:
        file.write(noise(bytes(4096), random.Random(3)))  # no SQLite opens this
    before = state_of_files(tmp_path / "data")
    done = run("salvage", tmp_path / "new", "--data", tmp_path / "data", *(["--files"] if files else []))
    assert done.exit_code == 0, done.output
    assert state_of_files(tmp_path / "data") == before
    if files:
        packs = sorted((tmp_path / "new").glob("*.fallbook.zip"))
        others = {path.name for path in (tmp_path / "new").iterdir() if path not in packs}
        assert len(packs) == len(book.jobs) and others == {"audit.json"}
        done = run("import", *packs, "--create", "--data", tmp_path / "again")
        assert done.exit_code == 0, done.output
        assert {row[:8] for row in rows_of(tmp_path / "again")} == {row[:8] for row in whole}
    else:
        assert rows_of(tmp_path / "new") == whole
        assert run("check-data", "--data", tmp_path / "new").exit_code == 0
    photos = tmp_path / ("again" if files else "new") / "photos"
    assert (photos / NAME[:2] / NAME).read_bytes() == PHOTO


BEYOND = "could not be read"


def shown(folder, job):
    """Say whether the office page of a job names an entry that lies behind a gap."""
    server = Server(folder)
    page = server.client.get(f"/office/jobs/{job}")
    server.close()
    return page.status_code == 200 and BEYOND in page.text


def test_what_is_lost_is_named_and_what_lies_behind_it_is_held_back(book, tmp_path, rows_on):
    page = next(n for n, rows in rows_on.items() if 2 < min(row[2] for row in rows) and len(rows) > 3)
    book.put(book.bytes[: (page - 1) * 4096] + zeros(bytes(4096), None) + book.bytes[page * 4096 :])
    data = tmp_path / "data"
    shutil.copytree(book.server.folder, data)
    done = run("salvage", tmp_path / "new", "--json", "--data", data)
    assert done.exit_code == 1 and "[salvage_incomplete]" in done.stderr
    said = json.loads(done.stdout)
    assert said["ok"] is False and said["lost"]
    everything = sum(map(len, book.rows.values()))
    lost = len(rows_on[page])
    assert said["entries"] + said["held_back"] >= everything - lost
    held_back = [job for job in book.jobs if shown(tmp_path / "new", job)]
    assert bool(held_back) == bool(said["held_back"])
    # A phone that has it all brings the new folder up to what there was.
    server = Server(tmp_path / "new")
    for job, before in book.jobs.items():
        fates = server.fates(before["entries"])
        assert {fate[1] for fate in fates} <= {"kept", "kept_already", "set_aside"}
        assert not [fate for fate in fates if fate[2:3] == ["identity_taken"]]
        assert server.client.get(f"/api/jobs/{job}").json["entries"] == before["entries"]
        assert BEYOND not in server.client.get(f"/office/jobs/{job}").text, "it is among the entries now"
    server.close()


def test_a_log_that_was_never_folded_in_counts(tmp_path):
    server = Server(tmp_path / "data")
    job = "01a1a070-0000-7000-8000-000000000001"
    server.fates([entry(job, "writer-a", n) for n in range(1, 40)])
    shutil.copytree(tmp_path / "data", tmp_path / "killed")
    server.close()
    assert (tmp_path / "killed" / "fallbook.sqlite-wal").stat().st_size > 0
    found = salvage.look(tmp_path / "killed", quiet)
    assert len(found.entries) == 39
    (tmp_path / "killed" / "fallbook.sqlite").unlink()
    assert len(salvage.look(tmp_path / "killed", quiet).entries) == 39


@pytest.mark.parametrize("where", ["data", "data/inside", "other"])
def test_a_place_that_is_not_free_is_refused(book, tmp_path, where):
    (tmp_path / "data").mkdir()
    (tmp_path / "other").mkdir()
    (tmp_path / "other" / "mine").write_text("mine")
    done = run("salvage", tmp_path / where, "--data", tmp_path / "data")
    assert done.exit_code == 2 and "[salvage_place]" in done.stderr
