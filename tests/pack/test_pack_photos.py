"""Photos of every shape and number flow over the report's pages: inside the margins, none over another."""

import dataclasses
import io
import re

import pdf_facts
import pdf_places
import pytest
from pack_jobs import Maker
from PIL import Image

from webapp.assembly.job import assemble
from webapp.pack import photo_sizes, report_pdf
from webapp.pack.pictures import Picture

MM = 72 / 25.4
SIDE, FOOT, HEAD = 19 * MM, 20 * MM, 297 * MM - 23 * MM
RIGHT = 210 * MM - SIDE
SHAPES = {
    "wide": (1200, 900),
    "tall": (900, 1600),
    "panorama": (2400, 400),
    "strip": (300, 2400),
    "dot": (3, 3),
}


def picture(shape, number):
    """Return a picture of a shape, another one for each number."""
    out = io.BytesIO()
    width, height = SHAPES[shape]
    Image.new("RGB", (width, height), (number * 7 % 256, number * 31 % 256, 120)).save(
        out, "JPEG", quality=30
    )
    return out.getvalue()


class Album:
    """A job with photos."""

    def __init__(self):
        self.maker, self.bytes = Maker(), {}
        self.maker.add("job", title="Photos")
        node = self.maker.add("node", node_ref="A", node_type="manhole")
        self.run = self.maker.add(
            "run", run_ref="R", start_node_id=node, direction="with_flow", counter_zero_m=0
        )
        self.maker.readings(self.run, (0, -1), (10, -1), (20, -1))

    def take(self, *shapes, caption="Seen here", **where):
        for shape in shapes:
            data = picture(shape, len(self.bytes))
            self.bytes[self.maker.photo(data, caption=caption, **where)] = data

    def observation(self, counter_m, *shapes, remark="", **more):
        record = self.maker.add(
            "observation", run_id=self.run, counter_m=counter_m, code="BBA", remark=remark
        )
        self.take(*shapes, run_id=self.run, belongs_to=record, **more)

    def report(self):
        contents = dataclasses.replace(assemble(self.maker.job_file()), photo_bytes=self.bytes.get)
        return report_pdf.render(contents)


def stand_well(pdf, count):
    """Every photo is drawn once, between the margins, clear of the others; the document is still sound."""
    boxes = list(pdf_places.photos(pdf))
    assert len(boxes) == count
    for page, left, bottom, right, top in boxes:
        assert left >= SIDE - 1 and right <= RIGHT + 1, (page, left, right)
        assert bottom >= FOOT - 1 and top <= HEAD + 1, (page, bottom, top)
    for i, one in enumerate(boxes):
        for other in boxes[:i]:
            apart = one[0] != other[0] or one[1] >= other[3] or one[3] <= other[1]
            assert apart or one[2] >= other[4] or one[4] <= other[2], (one, other)
    assert pdf_facts.faults(pdf) == []


@pytest.mark.parametrize(
    "shapes",
    [
        ["tall"] * 4,
        ["wide"] * 11,
        ["tall"] * 23,
        ["strip"],
        ["panorama"],
        ["wide", "panorama", "tall", "panorama", "panorama", "strip"],
        ["dot"],
    ],
    ids=lambda s: f"{len(s)} {s[0]}",
)
def test_the_photos_of_an_observation_flow_over_the_pages(shapes):
    album = Album()
    album.observation(3, "wide")
    album.observation(6, *shapes)
    album.observation(9, "wide", "wide")
    stand_well(album.report(), 1 + len(shapes) + 2)


def test_photos_of_a_run_and_of_the_job_flow_too():
    album = Album()
    album.take(*["tall"] * 7, "panorama", *["strip"] * 2, run_id=album.run)
    album.take(*["tall"] * 7, "panorama")
    stand_well(album.report(), 18)


def test_the_longest_words_beside_photos_leave_them_room():
    album = Album()
    long = "The wall is missing here and the ground can be seen behind it. " * 6
    for place in range(12):
        album.observation(place, *["tall"] * (place % 4), remark=long[:400], caption=long[:390])
    stand_well(album.report(), 18)


def test_words_stay_with_the_first_of_their_photos():
    """An observation never ends a page with its photos on the next."""
    album = Album()
    for place in range(14):
        album.observation(place, "tall", "tall", caption=f"Shot {place}")
    pages = pdf_facts.text(album.report())
    for place in range(14):
        with_words = [n for n, page in enumerate(pages) if re.search(rf"counter {place}\.00\b", page)]
        with_photos = [n for n, page in enumerate(pages) if re.search(rf"Shot {place}\b", page)]
        assert with_photos and with_photos[0] in with_words


@pytest.mark.parametrize("shape", SHAPES)
def test_a_photo_keeps_its_shape_and_its_bounds(shape):
    width, height = SHAPES[shape]
    size = photo_sizes.size_of(Picture(None, "", width, height))
    assert size.width_pt / size.height_pt == pytest.approx(width / height, rel=0.02)
    assert size.whole is (width >= 2 * height)
    assert size.height_pt <= 244 and size.width_pt <= (487 if size.whole else 156)


def test_rows_keep_the_order():
    sizes = {"p": True, "n": False}
    photos = [{"size": {"whole": sizes[kind]}, "n": n} for n, kind in enumerate("nnpnnnnpp")]
    rows = photo_sizes.rows_of(photos)
    assert [[one["n"] for one in row] for row in rows] == [[0, 1], [2], [3, 4, 5], [6], [7], [8]]
