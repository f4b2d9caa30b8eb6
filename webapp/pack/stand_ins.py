"""Photos put into a PDF after it was set.

Typst holds every picture unpacked until its document is done: 2 MB for a photo of 800 by 600.  So it is given
a stand-in of a few pixels with the same colours and a number in it, and the photo takes its place afterwards.
"""

import io
import re
from collections.abc import Mapping
from pathlib import Path

from PIL import Image

STAND_IN_PX = 8
_MARK = b"fallbook photo %d."
_NUMBER = re.compile(rb"fallbook photo (\d+)\.")


def stand_in(photo: bytes, number: int) -> bytes:
    """Return a small JPEG in the colours of ``photo``, another one for each number."""
    with Image.open(io.BytesIO(photo), formats=["JPEG"]) as image:
        mode, profile = image.mode, image.info.get("icc_profile")
    out = io.BytesIO()
    small = Image.new(mode, (STAND_IN_PX, STAND_IN_PX), 128 if mode == "L" else (128, 128, 128))
    small.save(out, "JPEG", comment=_MARK % number, icc_profile=profile)
    return out.getvalue()


def put_in(pdf: bytes, photos: Mapping[int, Path]) -> bytes:
    """Return the PDF with each photo in the place of its stand-in."""
    if not photos:
        return pdf
    import pikepdf

    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(pdf)) as document:
        for stream in document.objects:
            if not isinstance(stream, pikepdf.Stream) or stream.get("/Subtype") != "/Image":
                continue
            if (found := _NUMBER.search(stream.read_raw_bytes())) is None:
                continue
            photo = photos[int(found[1])].read_bytes()
            with Image.open(io.BytesIO(photo), formats=["JPEG"]) as image:
                stream.Width, stream.Height = image.size
            stream.write(photo, filter=pikepdf.Name.DCTDecode)
        document.save(
            out,
            deterministic_id=True,
            compress_streams=False,
            stream_decode_level=pikepdf.StreamDecodeLevel.none,
        )
    return out.getvalue()
