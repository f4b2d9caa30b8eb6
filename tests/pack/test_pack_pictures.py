"""What is called a photo and is none, or is too much of one: kept as a file, named in the report."""

import ast
import hashlib
import io
import os
import subprocess
import sys
from pathlib import Path

import pdf_facts
import picture_files as files
import pytest
from pack_jobs import Maker, built
from PIL import Image

from webapp import picture_header
from webapp.pack.pictures import LARGEST_PX, PASSED_ON_BYTES, picture

ROOT = Path(__file__).resolve().parents[2]
MEASURED = """
import hashlib, resource, sys, threading, time
from webapp.pack.pictures import picture
data = sys.stdin.buffer.read()
peak_kb = lambda: resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
before = peak_kb()
found = picture(hashlib.sha256(data).hexdigest(), lambda name: data)
print(found.state, found.why, (peak_kb() - before) // 1024)
"""


def shown(data):
    return picture(hashlib.sha256(data).hexdigest(), {hashlib.sha256(data).hexdigest(): data}.get)


def opened(data):
    with Image.open(io.BytesIO(shown(data).data), formats=["JPEG"]) as image:
        image.load()
        return image


def measured(data):
    """Return state, reason and the memory that one picture took [MB], in a process of its own."""
    done = subprocess.run(
        [sys.executable, "-c", MEASURED], input=data, capture_output=True, cwd=ROOT, timeout=120, check=True
    )
    *state, mb = done.stdout.decode().rstrip("\n").split(" ")
    return state, int(mb)


def test_every_opening_of_a_picture_says_which_decoder():
    found = 0
    for path in (ROOT / "webapp").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and ast.unparse(node.func) in ("Image.open", "PIL.Image.open"):
                found += 1
                assert [k.arg for k in node.keywords] == ["formats"], f"{path}:{node.lineno}"
    assert found >= 2


@pytest.mark.skipif(os.name == "nt", reason="the stand-in is a script")
def test_a_photo_that_is_postscript_starts_no_program(tmp_path, monkeypatch):
    started = tmp_path / "started"
    stand_in = tmp_path / "gs"
    stand_in.write_text(f"#!/bin/sh\ntouch {started}\nexit 1\n")
    stand_in.chmod(0o755)
    monkeypatch.setenv("PATH", f"{tmp_path}:{os.environ['PATH']}")
    found = shown(files.POSTSCRIPT)
    assert not started.exists()
    assert (found.state, found.why) == ("file_only", "kind")


@pytest.mark.parametrize("form", ["GIF", "BMP", "TIFF", "PPM", "TGA", "ICO", "PCX", "JPEG2000", "EPS", "PDF"])
def test_other_kinds_are_never_given_to_a_decoder(form):
    found = shown(files.saved(form))
    assert (found.state, found.why) == ("file_only", "kind")


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP", "HEIF"])
def test_the_four_kinds_are_shown(form):
    assert opened(files.saved(form, (1800, 900))).size == (LARGEST_PX, 700)
    header = picture_header.read_header(files.saved(form, (1800, 900)))
    assert (header.width_px, header.height_px) == (1800, 900)


@pytest.mark.parametrize("how", [{"lossless": True}, {"exact": True}, {"exif": b"Exif\0\0"}])
def test_each_form_of_webp_tells_its_size(how):
    header = picture_header.read_header(files.saved("WEBP", (333, 77), **how))
    assert (header.width_px, header.height_px) == (333, 77)


@pytest.mark.parametrize(
    "data, why",
    [
        (lambda: files.png(9_000, 9_000), "too_large"),
        (lambda: files.saved("WEBP", (5_100, 5_000), method=0), "too_large"),
        (lambda: files.jpeg_of_many_passes(400), "too_large"),
        (lambda: files.png(64, 48, more=files.text_bomb(b"zTXt")), "not_decoded"),
        (lambda: files.png(64, 48, more=files.text_bomb(b"iTXt")), "not_decoded"),
        (lambda: files.png(64, 48, more=files.text_bomb(b"iCCP")), "not_decoded"),
    ],
    ids=["png", "webp", "jpeg passes", "zTXt", "iTXt", "iCCP"],
)
def test_what_would_unpack_to_gigabytes_takes_no_memory(data, why):
    state, mb = measured(data())
    assert state == ["file_only", why] and mb < 120


@pytest.mark.parametrize(
    "data, most_mb",
    [(lambda: files.png(7_000, 7_000), 420), (lambda: files.saved("JPEG", (15_000, 16_000)), 150)],
    ids=["png of 49 million pixels", "jpeg of 240 million pixels"],
)
def test_the_largest_that_are_shown_take_what_is_stated(data, most_mb):
    state, mb = measured(data())
    assert state == ["", ""] and mb < most_mb


@pytest.mark.parametrize("kind, pixels", [("png", 50), ("heic", 50), ("webp", 25)])
def test_the_limit_is_exact(kind, pixels):
    most = pixels * 1_000_000
    assert not picture_header.PictureHeader(kind, most // 1000, 1000).too_large
    assert picture_header.PictureHeader(kind, most // 1000 + 1, 1000).too_large


def test_a_strip_of_a_picture_is_decoded_small():
    state, mb = measured(files.saved("JPEG", (65_000, 3_000)))
    assert state == ["", ""] and mb < 150


@pytest.mark.parametrize("form", ["WEBP", "PNG"])
def test_of_a_moving_picture_the_first_frame_is_shown(form):
    red, green, blue = opened(files.animated(form)).getpixel((30, 20))
    assert red > 200 and green < 60 and blue < 60


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP", "HEIF"])
def test_a_picture_that_is_cut_off_anywhere_stays_a_file(form):
    data = files.saved(form, (300, 200))
    for length in {3, 9, 13, 20, 33, len(data) // 3, len(data) // 2, len(data) - 40}:
        found = shown(data[:length])
        assert found.state == "file_only" or (found.state == "" and length > len(data) // 2), length


def test_metadata_without_end_does_not_go_into_the_report():
    data = files.jpeg_with_metadata(3 * PASSED_ON_BYTES)
    assert len(shown(data).data) < 20_000


def test_every_byte_changed_never_stops_a_pack():
    import random

    dice = random.Random(4)
    for form in ("JPEG", "PNG", "WEBP", "HEIF"):
        data = files.saved(form, (80, 60))
        for _ in range(120):
            spoilt = bytearray(data)
            for _ in range(dice.randint(1, 6)):
                spoilt[dice.randrange(len(spoilt))] = dice.randrange(256)
            assert shown(bytes(spoilt)).state in ("", "file_only")


def test_the_report_says_why_and_the_pack_keeps_every_byte():
    maker = Maker()
    maker.add("job", title="Odd photos")
    photos = {
        "kind": files.POSTSCRIPT,
        "pixels": files.png(9_000, 9_000, 0),
        "cut": files.saved("JPEG", (300, 200))[:700],
    }
    named = {maker.photo(data, caption=f"Photo {name}"): data for name, data in photos.items()}
    data, manifest = built(maker.job_file(), named.get)
    import zipfile

    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        text = " ".join(" ".join(pdf_facts.text(archive.read("report.pdf"))).split())
        kept = {hashlib.sha256(archive.read(n)).hexdigest() for n in archive.namelist() if "photos/" in n}
    assert kept == set(named) and manifest["photos_left_out"] == []
    assert "Photo kind. This is not a JPEG, PNG, WebP or HEIC picture and is not shown here" in text
    assert "Photo pixels. This picture has 81 million pixels, too many to be shown here" in text
    assert "Photo cut. This picture is cut off or damaged and cannot be shown here" in text
    assert "3 photos cannot be shown here; they are in the pack as files." in text
