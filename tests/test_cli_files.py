"""What commands read and write: files, pipes, links, devices."""

import json
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from cli_data import SAMPLE, run

from webapp import paths
from webapp.commands.run import outfile
from webapp.errors import AppError

# input


def test_a_dash_is_standard_input(tmp_path):
    text = (SAMPLE / "job.json").read_bytes()
    assert "sound" in run("check", "-", stdin=text).stdout
    assert json.loads(run("export", "-", stdin=text).stdout)["job_id"]
    run("export", SAMPLE, "-o", tmp_path / "x.zip")
    whole = (tmp_path / "x.zip").read_bytes()
    assert "7 photos new" in run("import", "-", "--create", "--data", tmp_path / "data", stdin=whole).stdout
    limits = run("grading-limits").stdout
    assert "can be used" in run("grading-limits", "-", stdin=limits).stdout
    assert run("check", "-", stdin=b"", code=2).stderr.endswith("[file_kind]\n")


def test_what_comes_from_a_pipe_is_read_whole(tmp_path):
    script = f"{sys.executable} -m webapp check <(cat {SAMPLE / 'job.json'})"
    done = subprocess.run(
        ["bash", "-c", script], cwd=paths.PACKAGE.parent, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0 and "sound" in done.stdout, done.stderr


# output


def test_a_link_stays_and_what_it_leads_to_is_written(tmp_path):
    (tmp_path / "real").mkdir()
    target, link = tmp_path / "real" / "job.json", tmp_path / "link.json"
    link.symlink_to(target)
    run("export", SAMPLE, "-o", link)
    assert link.is_symlink() and target.read_bytes() == (SAMPLE / "job.json").read_bytes()
    target.write_text("mine")
    assert "[destination_exists]" in run("export", SAMPLE, "-o", link, code=2).stderr
    assert target.read_text() == "mine"
    run("export", SAMPLE, "-o", link, "--force")
    assert link.is_symlink() and target.stat().st_size > 1000
    (tmp_path / "a").symlink_to(tmp_path / "b")
    (tmp_path / "b").symlink_to(tmp_path / "a")
    run("export", SAMPLE, "-o", tmp_path / "a", code=2)
    assert (tmp_path / "a").is_symlink()


def test_a_file_keeps_its_mode_and_its_place_when_it_is_replaced(tmp_path):
    out = tmp_path / "job.json"
    out.write_text("mine")
    out.chmod(0o640)
    run("export", SAMPLE, "-o", out, "--force")
    assert out.stat().st_mode & 0o777 == 0o640 and list(tmp_path.iterdir()) == [out]


def test_a_file_that_comes_meanwhile_is_not_lost(tmp_path):
    out = tmp_path / "x"
    with pytest.raises(AppError) as reported, outfile.written(out, force=False) as file:
        file.write(b"ours")
        out.write_text("theirs")
    assert reported.value.code == "destination_exists" and out.read_text() == "theirs"
    assert list(tmp_path.iterdir()) == [out]


def test_a_failure_leaves_nothing_half_written(tmp_path):
    out = tmp_path / "x"
    out.write_text("before")
    with pytest.raises(KeyboardInterrupt), outfile.written(out, force=True) as file:
        file.write(b"half")
        raise KeyboardInterrupt
    assert out.read_text() == "before" and list(tmp_path.iterdir()) == [out]


def test_a_device_is_written_as_it_is():
    run("export", SAMPLE, "-o", "/dev/null")
    assert Path("/dev/null").is_char_device()


def test_a_folder_is_no_output(tmp_path):
    assert "[output_folder]" in run("export", SAMPLE, "-o", tmp_path, code=2).stderr


def test_a_zip_through_a_pipe_is_the_same_as_in_a_file(tmp_path):
    run("export", SAMPLE, "-o", tmp_path / "x.zip")
    piped = run("export", SAMPLE, "--zip").stdout_bytes
    assert piped == (tmp_path / "x.zip").read_bytes()


def test_a_sample_is_copied_whole_or_not_at_all(tmp_path, monkeypatch):
    def broken(source, target, **more):
        Path(target).mkdir(parents=True, exist_ok=True)
        (Path(target) / "half").write_text("x")
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(shutil, "copytree", broken)
    run("sample", "copy", SAMPLE.name, "-o", tmp_path / "x", code=2)
    assert list(tmp_path.iterdir()) == []
    (tmp_path / "y").mkdir()
    run("sample", "copy", SAMPLE.name, "-o", tmp_path / "y", code=2)
    assert list((tmp_path / "y").iterdir()) == []
