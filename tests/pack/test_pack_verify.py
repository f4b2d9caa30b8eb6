"""A pack that is not whole is told from one that is."""

import io
import zipfile

import pytest
from pack_jobs import Maker, built, sample

from webapp.errors import AppError
from webapp.intake import read_pack


@pytest.fixture(scope="module")
def whole():
    return built(*sample("school_foul_drain"))[0]


def remade(data, change):
    """Return the zip with its files changed by ``change(name, bytes) -> (name, bytes) or None``."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(out, "w") as new:
        for name in old.namelist():
            if (kept := change(name, old.read(name))) is not None:
                new.writestr(*kept)
    return out.getvalue()


def refused(tmp_path, data, ask=read_pack.verify):
    path = tmp_path / "some.zip"
    path.write_bytes(data)
    with pytest.raises(AppError) as caught:
        ask(path)
    return caught.value


def test_a_whole_pack_verifies(whole, tmp_path):
    path = tmp_path / "whole.zip"
    path.write_bytes(whole)
    assert len(read_pack.verify(path)["files"]) == 17


@pytest.mark.parametrize("name", ["report.pdf", "readings.csv", "job.json"])
def test_a_changed_byte_is_found(whole, tmp_path, name):
    def change(this, content):
        return this, content[:-9] + b"?" + content[-8:] if this == name else content

    error = refused(tmp_path, remade(whole, change))
    assert error.code == "pack_mismatch" and f"{name} differs" in error.sentence


def test_a_byte_flipped_in_the_file_itself_is_found(whole, tmp_path):
    place = whole.index(b"chainage_m")
    broken = bytearray(whole)
    broken[place] ^= 1
    error = refused(tmp_path, bytes(broken))
    assert error.code == "pack_mismatch" and "damaged" in error.sentence


def test_a_missing_file_is_found(whole, tmp_path):
    error = refused(tmp_path, remade(whole, lambda n, c: None if n == "levels.csv" else (n, c)))
    assert error.code == "pack_mismatch" and "levels.csv is missing" in error.sentence


def test_a_file_that_does_not_belong_is_found(whole, tmp_path):
    out = io.BytesIO(whole)
    with zipfile.ZipFile(out, "a") as archive:
        archive.writestr("photos/extra.jpg", b"x")
    error = refused(tmp_path, out.getvalue())
    assert error.code == "pack_mismatch" and "photos/extra.jpg does not belong" in error.sentence


def test_a_longer_file_is_found_by_its_size(whole, tmp_path):
    error = refused(tmp_path, remade(whole, lambda n, c: (n, c + b"!" if n == "levels.svg" else c)))
    assert "levels.svg has another size" in error.sentence


@pytest.mark.parametrize("name", ["../levels.csv", "/levels.csv", "a/../../b", "C:\\levels.csv", "a\\b"])
def test_a_name_that_leaves_the_folder_is_refused(whole, tmp_path, name):
    data = remade(whole, lambda n, c: (name if n == "levels.csv" else n, c))
    assert refused(tmp_path, data).code == "zip_unsafe_name"


def test_a_zip_without_a_manifest_is_no_pack(whole, tmp_path):
    data = remade(whole, lambda n, c: None if n == "manifest.json" else (n, c))
    assert refused(tmp_path, data).code == "pack_no_manifest"


@pytest.mark.parametrize(
    "text",
    [
        b"{",
        b"[]",
        b'{"format": "other"}',
        b'{"format": "fallbook-pack", "version": 1, "files": [1]}',
        b"\xff",
    ],
)
def test_a_manifest_that_is_none_is_refused(whole, tmp_path, text):
    data = remade(whole, lambda n, c: (n, text if n == "manifest.json" else c))
    assert refused(tmp_path, data).code == "pack_no_manifest"


def test_a_newer_pack_is_refused(whole, tmp_path):
    newer = b'{"format": "fallbook-pack", "version": 99, "files": []}'
    error = refused(tmp_path, remade(whole, lambda n, c: (n, newer if n == "manifest.json" else c)))
    assert error.code == "pack_mismatch" and "newer" in error.sentence


def test_an_emptied_manifest_does_not_pass(whole, tmp_path):
    empty = b'{"format": "fallbook-pack", "version": 1, "files": []}'
    error = refused(tmp_path, remade(whole, lambda n, c: (n, empty if n == "manifest.json" else c)))
    assert error.code == "pack_mismatch" and "job.json is not in the manifest" in error.sentence


def test_half_a_zip_is_damaged(whole, tmp_path):
    assert refused(tmp_path, whole[: len(whole) // 2]).code == "zip_damaged"
    assert refused(tmp_path, b"no zip at all").code == "zip_damaged"


def test_a_job_file_of_a_broken_job_builds_no_pack():
    job = Maker().job_file()
    job["version"] = 99
    with pytest.raises(AppError) as caught:
        built(job)
    assert caught.value.code == "job_file_newer"
