"""The place of a picture goes out of its file, and nothing else does."""

import io

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

GPS, ORIENTATION, MODEL = 0x8825, 0x0112, 0x0110
XMP = (
    b'<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:Description exif:GPSLatitude="51,30.123N" tiff:Make="Ours">'
    b"<exif:GPSLongitude>0,7.5W</exif:GPSLongitude></rdf:Description></x:xmpmeta>"
)


def picture(kind, endian="<", **more):
    exif = Image.Exif()
    exif.endian = endian
    exif[ORIENTATION], exif[MODEL] = 6, "Crawler camera 9"
    exif[GPS] = {1: "N", 2: (51.0, 30.0, 12.34), 3: "W", 4: (0.0, 7.0, 30.0), 29: "2026:11:25"}
    out = io.BytesIO()
    Image.effect_noise((64, 48), 80).convert("RGB").save(out, kind, exif=exif, **more)
    return out.getvalue()


def patched(twin, data):
    """The file with its patches; they never change its length."""
    copy = bytearray(data)
    for at, put in twin.call("photos/photo_location", "location_patches", list(data)):
        assert 0 <= at and at + len(put) <= len(copy)
        copy[at : at + len(put)] = bytes(put)
    return bytes(copy)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
@pytest.mark.parametrize("endian", ["<", ">"], ids=["little", "big"])
def test_the_position_is_gone_and_everything_else_is_there(twin, kind, endian):
    before = picture(kind, endian)
    after = patched(twin, before)
    one, two = Image.open(io.BytesIO(before)), Image.open(io.BytesIO(after))
    assert dict(one.getexif().get_ifd(GPS)) != {}
    assert GPS not in two.getexif() and dict(two.getexif().get_ifd(GPS)) == {}
    assert (two.getexif()[ORIENTATION], two.getexif()[MODEL]) == (6, "Crawler camera 9")
    assert one.tobytes() == two.tobytes() and len(before) == len(after)
    assert b"2026:11:25" in before and b"2026:11:25" not in after
    assert patched(twin, after) == after, "done once, there is nothing left to do"


def test_the_position_in_xmp_is_gone_too(twin):
    before = picture("JPEG", xmp=XMP)
    after = patched(twin, before)
    assert (
        b"exif:GPS" in before
        and b"GPSL" not in after
        and b"51,30.123" not in after
        and b"0,7.5W" not in after
    )
    assert b'tiff:Make="Ours"' in after


def test_a_picture_without_a_position_stays_as_it_is(twin):
    out = io.BytesIO()
    Image.new("RGB", (9, 9)).save(out, "JPEG")
    for data in (out.getvalue(), b"", b"II*\0", b"Exif\0\0II*\0\xff\xff\xff\xff", b"Exif\0\0MM\0*\0\0\0\x08"):
        assert patched(twin, data) == data


SAMPLE = picture("JPEG", xmp=XMP)


@settings(max_examples=100, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 500), st.binary(min_size=1, max_size=4)), max_size=6))
def test_a_damaged_file_never_breaks_it(twin, blows):
    data = bytearray(SAMPLE[:1500])
    for at, put in blows:
        data[at : at + len(put)] = put
    patched(twin, bytes(data))
