"""Pictures for the report: decoded, turned upright, scaled.  What cannot be shown stays a file.

The pixels of a picture are counted before it is decoded, and a decoder is told what it has before it: no
other one is ever asked.
"""

import hashlib
import io
import warnings
from collections.abc import Callable
from dataclasses import dataclass

import pillow_heif
from PIL import Image, ImageOps

from ..picture_header import IN_STRIPS_PX, WHOLE_PX, HeaderDamaged, PictureHeader, read_header

LARGEST_PX = 1400
PASSED_ON_BYTES = 4_000_000  # of a JPEG that goes into the report as it is
DECODERS = {"jpeg": "JPEG", "png": "PNG", "webp": "WEBP", "heic": "HEIF"}

pillow_heif.register_heif_opener()
Image.MAX_IMAGE_PIXELS = IN_STRIPS_PX  # never met: the header was asked before


@dataclass(frozen=True)
class Picture:
    """A picture as the report prints it, or the reason why it cannot."""

    data: bytes | None
    state: str  # "" printed, "missing", "damaged", "file_only"
    width_px: int = 0
    height_px: int = 0
    why: str = ""  # of "file_only": "kind", "too_large", "not_decoded"
    too_many_px: int = 0


def picture(sha256: str, photo_bytes: Callable[[str], bytes | None]) -> Picture:
    """Return the picture of a photo."""
    data = photo_bytes(sha256)
    if data is None:
        return Picture(None, "missing")
    if hashlib.sha256(data).hexdigest() != sha256:
        return Picture(None, "damaged")
    try:
        header = read_header(data)
    except HeaderDamaged:
        return Picture(None, "file_only", why="not_decoded")
    if header is None:
        return Picture(None, "file_only", why="kind")
    if header.too_large:
        too_many_px = header.width_px * header.height_px
        return Picture(None, "file_only", why="too_large", too_many_px=too_many_px)
    try:
        return _shown(data, header)
    except Exception:  # a decoder raises whatever it likes; a photo is never a reason to have no pack
        return Picture(None, "file_only", why="not_decoded")


def _shown(data: bytes, header: PictureHeader) -> Picture:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of what it says about itself, which is not printed
        upright = _upright(data, header)
        with Image.open(io.BytesIO(upright), formats=["JPEG"]) as image:
            return Picture(upright, "", *image.size)


def _upright(data: bytes, header: PictureHeader) -> bytes:
    with Image.open(io.BytesIO(data), formats=[DECODERS[header.kind]]) as image:
        plain = image.format == "JPEG" and image.mode in ("RGB", "L") and len(data) <= PASSED_ON_BYTES
        upright = image.getexif().get(0x0112, 1) == 1
        small = max(image.size) <= LARGEST_PX
        image.draft("RGB", _decoded_size(header))
        image.load()  # a truncated file is found here
        if plain and upright and small:
            return data  # as it came: the same bytes on every machine
        image.thumbnail((LARGEST_PX, LARGEST_PX), Image.Resampling.LANCZOS)
        turned = ImageOps.exif_transpose(image)
        out = io.BytesIO()
        _opaque(turned).save(out, "JPEG", quality=82)
        return out.getvalue()


def _decoded_size(header: PictureHeader) -> tuple[int, int]:
    """The size below which a JPEG is not decoded; one of many pixels is scaled alike on both sides."""
    if header.width_px * header.height_px <= WHOLE_PX:
        return LARGEST_PX, LARGEST_PX
    scale = LARGEST_PX / max(header.width_px, header.height_px)
    return max(1, int(header.width_px * scale)), max(1, int(header.height_px * scale))


def _opaque(image: Image.Image) -> Image.Image:
    if image.mode in ("RGBA", "LA", "PA") or "transparency" in image.info:
        whole = image.convert("RGBA")
        white = Image.new("RGBA", whole.size, "white")
        return Image.alpha_composite(white, whole).convert("RGB")
    return image.convert("RGB")
