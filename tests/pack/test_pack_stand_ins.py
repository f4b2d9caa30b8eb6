"""Photos that are put into the report after it was set: each in its own place, as it came."""

import io
from datetime import UTC, datetime

import pdf_facts
import pikepdf
import pytest
import typst
from PIL import Image, ImageCms

from webapp.pack.stand_ins import put_in, stand_in


def jpeg(mode, size, colour, **more):
    out = io.BytesIO()
    Image.new(mode, size, colour).save(out, "JPEG", **more)
    return out.getvalue()


PROFILE = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
PHOTOS = [
    jpeg("RGB", (90, 60), (200, 10, 10)),
    jpeg("L", (60, 90), 40),
    jpeg("RGB", (64, 64), (10, 200, 10), icc_profile=PROFILE),
    jpeg("RGB", (90, 60), (10, 10, 200), progressive=True, comment=b"fallbook photo 0."),
    jpeg("RGB", (90, 60), (200, 10, 10), quality=20),
]


@pytest.fixture
def document(tmp_path):
    """Return a PDF whose pictures are stand-ins, and the photos by their numbers."""
    paths, lines = {}, ['#set document(title: "Photos", date: auto)', '#set text(lang: "en")']
    for n, photo in enumerate(PHOTOS):
        (tmp_path / f"{n}.jpg").write_bytes(stand_in(photo, n))
        paths[n] = tmp_path / f"whole{n}.jpg"
        paths[n].write_bytes(photo)
        lines.append(f'#image("{n}.jpg", alt: "photo {n}", width: 90pt, height: 60pt, fit: "stretch")')
    (tmp_path / "main.typ").write_text("\n".join([*lines, lines[-1], lines[2]]), encoding="utf-8")
    pdf = typst.compile(
        tmp_path / "main.typ",
        format="pdf",
        pdf_standards=["a-2b", "ua-1"],
        timestamp=datetime(2020, 1, 1, tzinfo=UTC),
    )
    return pdf, paths


def drawn(pdf):
    """Return the pictures of the first page in the order in which they are drawn."""
    with pikepdf.open(io.BytesIO(pdf)) as opened:
        page = opened.pages[0]
        names = [str(words[0]) for words, what in pikepdf.parse_content_stream(page) if str(what) == "Do"]
        pictures = page.Resources.XObject
        return [
            (pictures[name].read_raw_bytes(), int(pictures[name].Width), int(pictures[name].Height))
            for name in names
        ]


def test_each_photo_is_in_its_own_place_to_the_byte(document):
    pdf, paths = document
    found = drawn(put_in(pdf, paths))
    assert [data for data, _, _ in found] == [*PHOTOS, PHOTOS[-1], PHOTOS[0]]
    assert [size for _, *size in found][:3] == [[90, 60], [60, 90], [64, 64]]


def test_what_comes_out_is_still_sound_and_the_same_each_time(document):
    pdf, paths = document
    whole = put_in(pdf, paths)
    assert pdf_facts.faults(whole) == [] == pdf_facts.wrong_lengths(whole)
    assert put_in(pdf, paths) == whole


def test_a_document_without_photos_stays_as_it_was(document):
    assert put_in(document[0], {}) is document[0]


def test_a_photo_that_has_no_place_is_a_fault_and_never_silent(document):
    pdf, paths = document
    with pytest.raises(KeyError):
        put_in(pdf, {n: path for n, path in paths.items() if n != 2})
