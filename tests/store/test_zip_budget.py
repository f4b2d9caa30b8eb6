"""What makes a zip and what reads one go by the same numbers."""

import dataclasses
import io
import re
from pathlib import Path

import pytest

from webapp.budgets import BUDGETS
from webapp.errors import AppError
from webapp.intake import safe_zip
from webapp.intake.safe_zip import SafeZip
from webapp.pack import archive
from webapp.pack.archive import PackWriter

STATIC = Path(__file__).resolve().parents[2] / "static" / "js" / "files"


def written(path, names, size=1):
    with path.open("wb") as out, PackWriter(out) as writer:
        for name in names:
            writer.add(name, b"x" * size, "image/jpeg")
    return path


def test_a_zip_of_20050_photos_is_made_and_read(tmp_path):
    """The server made one that its own ``verify`` refused."""
    path = written(tmp_path / "a.zip", [f"photos/{n:064x}.jpg" for n in range(20_050)])
    with SafeZip(path) as found:
        assert len(found.names) == 20_050


@pytest.mark.parametrize("over", [-1, 0, 1])
def test_members_one_below_at_and_above(tmp_path, monkeypatch, over):
    monkeypatch.setattr(archive, "BUDGETS", dataclasses.replace(BUDGETS, zip_members=30))
    monkeypatch.setattr(safe_zip, "MAX_MEMBERS", 30)
    names = [f"photos/{n}.jpg" for n in range(30 + over)]
    if over > 0:
        with pytest.raises(AppError) as caught:
            written(tmp_path / "a.zip", names)
        assert caught.value.code == "pack_too_large" and "at most 30" in caught.value.sentence
    else:
        with SafeZip(written(tmp_path / "a.zip", names)) as found:
            assert len(found.names) == len(names)


@pytest.mark.parametrize("over", [-1, 0, 1])
def test_bytes_one_below_at_and_above(tmp_path, monkeypatch, over):
    most = dataclasses.replace(BUDGETS, zip_bytes=3000, job_file_bytes=500)
    monkeypatch.setattr(archive, "BUDGETS", most)
    for name, size in (("photos/a.jpg", 3000), ("job.json", 500)):
        with PackWriter(io.BytesIO()) as writer:
            if over > 0:
                with pytest.raises(AppError) as caught:
                    writer.add(name, b"x" * (size + over), "image/jpeg")
                assert caught.value.code == "pack_too_large"
            else:
                writer.add(name, b"x" * (size + over), "image/jpeg")


def test_a_phone_goes_by_the_same_numbers():
    found = {
        name: int(value.replace("_", ""))
        for file in ("handover_out.js", "unzip_file.js", "handover_in.js")
        for name, value in re.findall(r"const (MAX_\w+) = ([\d_]+);", (STATIC / file).read_text())
    }
    assert found["MAX_MEMBERS"] == found["MAX_FILES"] == BUDGETS.zip_members
    assert found["MAX_BYTES"] == BUDGETS.zip_bytes
    assert found["MAX_JOB_BYTES"] == BUDGETS.job_file_bytes
    assert found["MAX_PHOTO_BYTES"] == BUDGETS.photo_bytes
