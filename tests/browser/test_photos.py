"""Photos from files: kept as they are, whatever the browser can make of them."""

import base64
import io
import random

import pytest
from PIL import Image

PREPARE = """async ([data, name, type]) => {
  const { preparePhoto } = await import('/static/js/photos/photo_prepare.js');
  const { errorWords } = await import('/static/js/ui/error_words.js');
  const bytes = Uint8Array.from(atob(data), (c) => c.charCodeAt(0));
  try {
    const photo = await preparePhoto(new File([bytes], name, { type }));
    const size = photo.preview ? await createImageBitmap(new Blob([photo.preview], {type: photo.preview_type})) : null;
    return {
      same: bytes.length === photo.bytes.byteLength && new Uint8Array(photo.bytes).every((b, i) => b === bytes[i]),
      media_type: photo.media_type, width_px: photo.width_px, height_px: photo.height_px,
      preview: size && [size.width, size.height], preview_bytes: photo.preview?.byteLength, preview_type: photo.preview_type,
    };
  } catch (error) { return { code: error.code, message: errorWords(error) }; }
}"""


@pytest.fixture
def prepare(page_kit):
    def run(data, name="photo.jpg", media_type="image/jpeg"):
        return page_kit.page.evaluate(PREPARE, [base64.b64encode(data).decode(), name, media_type])

    return run


def jpeg(width, height, **more):
    out = io.BytesIO()
    Image.new("RGB", (width, height), (90, 110, 90)).save(out, "JPEG", **more)
    return out.getvalue()


def test_a_photo_is_kept_whole_with_a_small_preview(prepare):
    found = prepare(jpeg(1600, 1200))
    assert found["same"]
    assert (found["width_px"], found["height_px"], found["preview"]) == (1600, 1200, [480, 360])
    assert found["preview_type"] == "image/jpeg" and found["preview_bytes"] < 40_000


def test_a_photo_turned_by_its_camera_is_shown_upright(prepare):
    exif = Image.Exif()
    exif[0x0112] = 6  # a quarter turn
    found = prepare(jpeg(1600, 1200, exif=exif))
    assert (found["width_px"], found["height_px"], found["preview"]) == (1200, 1600, [360, 480])


def test_a_small_picture_is_not_blown_up(prepare):
    assert prepare(jpeg(20, 10))["preview"] == [20, 10]


def test_a_picture_of_100_megapixels(prepare):
    found = prepare(jpeg(10_000, 10_000))
    assert found["same"] and found["preview"] == [480, 480]
    assert (found["width_px"], found["height_px"]) == (10_000, 10_000)


@pytest.mark.parametrize("media_type", ["image/heic", ""])
def test_heic_is_kept_as_a_file(prepare, media_type):
    data = b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic" + random.Random(1).randbytes(5000)
    found = prepare(data, "IMG_0001.HEIC", media_type)
    assert found["same"] and found["media_type"] == "image/heic"
    assert found["preview"] is None and found.get("width_px") is None


def test_a_damaged_picture_is_kept_as_a_file(prepare):
    found = prepare(jpeg(800, 600)[:300])
    assert found["same"] and found["media_type"] == "image/jpeg"


def test_an_empty_file_is_refused_with_a_sentence(prepare):
    assert prepare(b"") == {
        "code": "photo_empty",
        "message": "This file is empty. Choose it again, or take the picture again.",
    }


def test_a_file_beyond_200_mb_is_refused_with_a_sentence(page_kit):
    found = page_kit.page.evaluate(
        """async () => {
          const { preparePhoto } = await import('/static/js/photos/photo_prepare.js');
          const { errorWords } = await import('/static/js/ui/error_words.js');
          const big = { size: 200_000_001, type: 'image/jpeg', name: 'x.jpg', arrayBuffer: () => { throw new Error('read'); } };
          try { await preparePhoto(big); } catch (e) { return [e.code, errorWords(e)]; }
        }"""
    )
    assert found == ["photo_too_large", "This file is larger than 200 MB. Choose a smaller picture."]
