"""Files that are not what they should be, through ``fallbook import``: a clear line, nothing half taken."""

import json
import tracemalloc
import zipfile

import pytest
from click.testing import CliRunner

from webapp import paths
from webapp.cli import main
from webapp.errors import AppError
from webapp.intake.open_job import open_job

SAMPLE = paths.SAMPLE_JOBS / "tidal_creek_drain"
HUGE = 200_000_001


@pytest.fixture(scope="module")
def data(tmp_path_factory):
    """One data folder for them all: none of these files may leave anything in it."""
    return tmp_path_factory.mktemp("bad") / "data"


def take(path, data):
    found = CliRunner().invoke(main, ["import", "--create", str(path), "--data", str(data)])
    assert found.exception is None or isinstance(found.exception, SystemExit), found.exc_info
    return found


def nothing_is_in(data):
    printed = CliRunner().invoke(main, ["check-data", "--data", str(data)]).output
    return "0 jobs, 0 entries, 0 photos" in printed


def document(path):
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("[Content_Types].xml", "<Types/>")
        archive.writestr("word/document.xml", "<w:document/>")


WRONG = {
    "picture.json": (b"\xff\xd8\xff\xe0" + bytes(40), "file_kind", "It is a picture."),
    "paper.txt": (b"%PDF-1.7\n", "file_kind", "It is a PDF."),
    "packed.txt": (b"\x1f\x8b\x08\x00", "file_kind", "It is a packed file."),
    "log.csv": (b"Distance;Pitch\n1;2\n", "file_kind", "fallbook readings import"),
    "mixed.csv": (b"Distance;Pitch\r1;2\r\n3;4\n", "file_kind", "fallbook readings import"),
    "empty.json": (b"", "file_kind", "It is empty."),
    "other.json": (b'{"format": "other"}', "job_file_kind", ""),
    "list.json": (b"[1, 2]", "job_file_kind", ""),
    "infinite.json": (b'{"format": "fallbook-job", "version": 1e999}', "file_not_json", ""),
    "deep.json": (b"[" * 100_000, "file_not_json", ""),
}


@pytest.mark.parametrize("name", sorted(WRONG))
def test_a_file_of_the_wrong_kind(tmp_path, data, name):
    content, code, words = WRONG[name]
    (tmp_path / name).write_bytes(content)
    found = take(tmp_path / name, data)
    assert found.exit_code == 2 and f"[{code}]" in found.output and words in found.output
    assert len(found.output.splitlines()) == 1 and nothing_is_in(data)


def test_an_office_document(tmp_path, data):
    document(tmp_path / "job.docx")
    found = take(tmp_path / "job.docx", data)
    assert found.exit_code == 2 and "[job_file_kind]" in found.output and nothing_is_in(data)


@pytest.mark.parametrize(
    "start",
    [b"{", b"PK\x03\x04", b"#A1=UTF-8\n", b"Distance;Pitch\n"],
    ids=["json", "zip", "exchange", "csv"],
)
def test_a_file_of_200_mb_is_refused_without_being_held(tmp_path, start):
    path = tmp_path / "large"
    with path.open("wb") as file:
        file.write(start)
        file.truncate(HUGE)
    tracemalloc.start()
    with pytest.raises(AppError) as refused, open_job(path):
        pass
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert refused.value.code in ("file_unreadable", "zip_damaged", "exchange_too_large", "file_kind")
    assert peak < 5_000_000


@pytest.mark.parametrize("part", [1, 9, 19])
def test_a_job_file_cut_in_the_middle(tmp_path, data, part):
    whole = (SAMPLE / "job.json").read_bytes()
    path = tmp_path / "job.json"
    path.write_bytes(whole[: len(whole) * part // 20])
    found = take(path, data)
    assert found.exit_code == 2 and "[file_not_json]" in found.output and nothing_is_in(data)


def spoilt(change):
    job = json.loads((SAMPLE / "job.json").read_text(encoding="utf-8"))
    del job["entries"]
    job.pop("aside", None)
    change(job["records"])
    return json.dumps(job).encode()


def first(records, kind, having):
    return next(r["fields"] for r in records if r["kind"] == kind and having in r["fields"])


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda r: first(r, "observation", "clock").update(clock={"hour_from": 13}), "clock"),
        (lambda r: first(r, "observation", "quantification_1").update(quantification_1="a few"), "number"),
        (lambda r: first(r, "reading", "counter_m").update(counter_m="=2+3"), "number"),
        (lambda r: first(r, "reading", "counter_m").update(counter_m=-1), "counter_m"),
    ],
    ids=["clock_of_13", "quantity_in_words", "formula", "below_zero"],
)
def test_a_job_file_with_a_value_that_cannot_be(tmp_path, data, change, words):
    (tmp_path / "job.json").write_bytes(spoilt(change))
    found = take(tmp_path / "job.json", data)
    assert found.exit_code == 2 and "[job_file_invalid]" in found.output and "Record " in found.output
    assert words in found.output and nothing_is_in(data)


def test_a_formula_in_a_remark_is_taken_as_text(tmp_path):
    (tmp_path / "job.json").write_bytes(spoilt(lambda r: first(r, "job", "title").update(title="=1+1")))
    assert take(tmp_path / "job.json", tmp_path / "data").exit_code == 0
