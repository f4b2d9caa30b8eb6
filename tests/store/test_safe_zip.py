"""Zips of strangers."""

import io
import stat
import struct
import tracemalloc
import zipfile

import pytest

from webapp.errors import AppError
from webapp.intake import safe_zip
from webapp.intake.safe_zip import SafeZip


def write(path, *members):
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in members:
            archive.writestr(name, data)
    return path


def refused(path, code):
    with pytest.raises(AppError) as caught:
        with SafeZip(path) as archive:
            for name in archive.names:
                archive.read(name, 1_000_000)
    assert caught.value.code == code


def test_a_good_zip_is_read(tmp_path):
    path = write(tmp_path / "a.zip", ("job.json", b"{}"), ("photos/a.jpg", b"x"), ("photos/", b""))
    with SafeZip(path) as archive:
        assert archive.names == ["job.json", "photos/a.jpg"]
        assert (archive.read("photos/a.jpg", 10), archive.size("photos/a.jpg")) == (b"x", 1)


@pytest.mark.parametrize(
    "name",
    [
        "../x",
        "a/../../x",
        "/etc/passwd",
        "a//b",
        "./x",
        "a/.",
        "..",
        "..\\x",
        "C:x",
        "c:/x",
        "a\x01b",
        "\\\\server\\x",
    ],
)
def test_a_name_that_leaves_its_folder(tmp_path, name):
    refused(write(tmp_path / "a.zip", ("job.json", b"{}"), (name, b"x")), "zip_unsafe_name")


def test_a_name_cut_short_by_a_nul_is_seen_whole(tmp_path):
    path = write(tmp_path / "a.zip", ("job.json", b"{}"), ("fine__evil", b"x"))
    path.write_bytes(path.read_bytes().replace(b"fine__evil", b"fine\x00/evil"[:10]))
    refused(path, "zip_unsafe_name")


def test_a_link(tmp_path):
    link = zipfile.ZipInfo("photos")
    link.external_attr = (stat.S_IFLNK | 0o777) << 16
    with zipfile.ZipFile(tmp_path / "a.zip", "w") as archive:
        archive.writestr(link, "/etc")
    refused(tmp_path / "a.zip", "zip_unsafe_name")


@pytest.mark.filterwarnings("ignore:Duplicate name")
@pytest.mark.parametrize("second", ["job.json", "JOB.json"])
def test_a_name_twice(tmp_path, second):
    refused(write(tmp_path / "a.zip", ("job.json", b"{}"), (second, b"[]")), "zip_unsafe_name")


def test_a_bomb(tmp_path):
    refused(write(tmp_path / "a.zip", ("job.json", b" " * 30_000_000)), "zip_too_large")


def test_a_bomb_that_lies_about_its_size(tmp_path):
    path = write(tmp_path / "a.zip", ("job.json", b" " * 5_000_000))
    data = bytearray(path.read_bytes())
    data = data.replace(struct.pack("<L", 5_000_000), struct.pack("<L", 500))
    path.write_bytes(data)
    refused(path, "zip_damaged")


@pytest.mark.parametrize("method", [zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA])
def test_a_bomb_that_unpacks_at_once_however_little_is_asked_for(tmp_path, method):
    """Only the unpacking of Deflate can be stopped half-way; a lying size bounded no other."""
    path, size = tmp_path / "a.zip", 40_000_000
    with zipfile.ZipFile(path, "w", method) as archive:
        archive.writestr("job.json", bytes(size))
    path.write_bytes(path.read_bytes().replace(struct.pack("<L", size), struct.pack("<L", 500)))
    tracemalloc.start()
    refused(path, "zip_damaged")
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak < 5_000_000


def test_more_than_asked_for(tmp_path):
    refused(write(tmp_path / "a.zip", ("job.json", b"ab" * 700_000)), "zip_too_large")


def test_too_many_members(tmp_path, monkeypatch):
    monkeypatch.setattr(safe_zip, "MAX_MEMBERS", 3)
    refused(write(tmp_path / "a.zip", *((f"{n}", b"") for n in range(4))), "zip_too_large")


def test_torn_and_spoilt(tmp_path):
    whole = write(tmp_path / "a.zip", ("job.json", bytes(range(256)) * 50)).read_bytes()
    torn = tmp_path / "b.zip"
    for data in (b"", b"PK", whole[:-30], whole[: len(whole) // 2], b"x" * 500):
        torn.write_bytes(data)
        refused(torn, "zip_damaged")
    refused(tmp_path / "missing.zip", "zip_damaged")


@pytest.mark.parametrize("at", range(40, 400, 40))
def test_a_flipped_byte_never_passes_for_the_file(tmp_path, at):
    content = bytes(range(256)) * 50
    data = bytearray(write(tmp_path / "a.zip", ("job.json", content)).read_bytes())
    data[at] ^= 0xFF
    try:
        with SafeZip(_file(tmp_path, data)) as archive:
            assert archive.read("job.json", 1_000_000) == content
    except AppError as error:
        assert error.code in ("zip_damaged", "zip_unsafe_name", "zip_too_large")


def _file(folder, data):
    path = folder / "flipped.zip"
    path.write_bytes(data)
    return path


def test_a_missing_member_is_named(tmp_path):
    with SafeZip(write(tmp_path / "a.zip", ("a", b""))) as archive, pytest.raises(AppError) as caught:
        archive.read("job.json", 10)
    assert "job.json" in caught.value.sentence


def test_an_encrypted_member(tmp_path):
    data = bytearray(write(tmp_path / "a.zip", ("job.json", b"{}")).read_bytes())
    data[data.rindex(b"PK\x01\x02") + 8] |= 1
    assert io.BytesIO(data)
    refused(_file(tmp_path, data), "zip_damaged")
