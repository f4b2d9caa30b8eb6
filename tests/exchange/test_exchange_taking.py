"""Exchange files through the command line, the server and the pack."""

import io
import json
import zipfile

import exchange_files as files
import exchange_reader
import pytest
from click.testing import CliRunner
from test_round_trip import SAMPLES

from webapp import cli, exchange, job_pack
from webapp.errors import AppError
from webapp.intake.open_job import open_job


def take(path, data):
    return CliRunner().invoke(cli.main, ["import", "--create", str(path), "--data", str(data)])


def test_the_command_line_takes_a_file_once_and_tells_line_by_line(tmp_path):
    path = tmp_path / "inspection.txt"
    path.write_bytes(files.EXAMPLE.replace("BBA,B,,5,,12,12", "BBA,B,,5,,13,12").encode("latin-1"))
    first, second = take(path, tmp_path / "data"), take(path, tmp_path / "data")
    assert first.exit_code == second.exit_code == 0, first.output
    assert "line 23: kept as a remark" in first.output and "clock position '13'" in first.output
    assert "0 entries new" in second.output and "0 entries new" not in first.output
    assert "0 set aside" in first.output


def test_a_file_too_large_is_refused_before_it_is_read(tmp_path):
    path = tmp_path / "large.txt"
    with path.open("wb") as file:
        file.write(files.EXAMPLE.encode("latin-1"))
        file.truncate(200_000_000)
    with pytest.raises(AppError) as refused, open_job(path):
        pass
    assert refused.value.code == "exchange_too_large" and "200 MB" in refused.value.sentence


def test_the_server_takes_a_file_and_answers_with_the_report(server):
    data, kind = files.EXAMPLE.encode("latin-1"), "application/octet-stream"
    answer = server.client.post("/api/import", data=data, content_type=kind).json
    assert answer["ok"] and answer["kept"] == len(exchange.read(data).entries) and answer["set_aside"] == 0
    assert answer["report"] == exchange.read(data).lines()
    again = server.client.post("/api/import", data=data, content_type=kind).json
    assert again["kept"] == 0 and again["kept_already"] == answer["kept"]
    (job,) = server.client.get("/api/jobs").json["jobs"]
    assert job["title"] == "Exchange file: run K-21 and 1 more"


def test_an_unusable_file_leaves_the_server_as_it_was(server):
    bad = files.EXAMPLE.replace("#C=I,J,A,", "#C=I,J,Q,").encode("latin-1")
    answer = server.client.post("/api/import", data=bad, content_type="application/octet-stream")
    assert answer.status_code == 422 and answer.json["errors"][0]["code"] == "exchange_unreadable"
    assert "Line 13" in answer.json["errors"][0]["message"]
    assert server.client.get("/api/jobs").json["jobs"] == []


@pytest.fixture(scope="module")
def sample_pack():
    folder = SAMPLES / "tidal_creek_drain"
    job = json.loads((folder / "job.json").read_text(encoding="utf-8"))
    out = io.BytesIO()
    manifest = job_pack.build(job, lambda sha: (folder / "photos" / f"{sha}.jpg").read_bytes(), out)
    return zipfile.ZipFile(out), manifest


def test_the_pack_holds_the_file_and_says_what_it_cannot_carry(sample_pack):
    archive, manifest = sample_pack
    _, ((header, rows),) = exchange_reader.read_file(archive.read("inspection.txt"))
    assert header["AAA"] == "D1" and len(rows) > 15
    named = [row["M"] for row in rows if "M" in row]
    assert named and set(named) <= set(archive.namelist())
    printed = manifest["not_carried"]["inspection.txt"]
    assert any("inclination readings" in sentence for sentence in printed)


def test_distances_are_those_of_the_pack(sample_pack):
    archive, _ = sample_pack
    _, ((_, rows),) = exchange_reader.read_file(archive.read("inspection.txt"))
    crack = next(row for row in rows if row["A"] == "BAB")
    lines = archive.read("observations.csv").decode("utf-8-sig").splitlines()
    columns = lines[0].split(",")
    stated = next(line.split(",") for line in lines if ",BAB" in line)
    assert float(crack["I"]) == pytest.approx(float(stated[columns.index("chainage_m")]), abs=0.006)


def test_reading_the_packs_file_gives_the_runs_again(sample_pack):
    archive, _ = sample_pack
    report = exchange.read(archive.read("inspection.txt"))
    assert [r["run_ref"] for r in files.of_kind(report, "run")] == ["D1"]
    assert not [n for n in report.notes if n.outcome in ("remark", "left_out")]
