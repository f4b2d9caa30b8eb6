"""Pictures for the report: decoded, turned upright, scaled.  What cannot be decoded stays a file."""

import hashlib
import io
import warnings
from collections.abc import Callable
from dataclasses import dataclass

from PIL import Image, ImageOps, UnidentifiedImageError

LARGEST_PX = 1400
REFUSED = (
    OSError,
    ValueError,
    SyntaxError,
    UnidentifiedImageError,
    Image.DecompressionBombError,
    MemoryError,
)


@dataclass(frozen=True)
class Picture:
    """A picture as the report prints it, or the reason why it cannot."""

    data: bytes | None
    state: str  # "" printed, "missing", "damaged", "file_only"
    width_px: int = 0
    height_px: int = 0


def picture(sha256: str, photo_bytes: Callable[[str], bytes | None]) -> Picture:
    """Return the picture of a photo."""
    data = photo_bytes(sha256)
    if data is None:
        return Picture(None, "missing")
    if hashlib.sha256(data).hexdigest() != sha256:
        return Picture(None, "damaged")
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # a photo of 100 megapixels is large, not an attack
            upright = _upright(data)
            with Image.open(io.BytesIO(upright)) as image:
                return Picture(upright, "", *image.size)
    except REFUSED:
        return Picture(None, "file_only")


def _upright(data: bytes) -> bytes:
    with Image.open(io.BytesIO(data)) as image:
        plain = image.format == "JPEG" and image.mode in ("RGB", "L")
        upright = image.getexif().get(0x0112, 1) == 1
        small = max(image.size) <= LARGEST_PX
        image.draft("RGB", (LARGEST_PX, LARGEST_PX))
        image.load()  # a truncated file is found here
        if plain and upright and small:
            return data  # as it came: the same bytes on every machine
        image.thumbnail((LARGEST_PX, LARGEST_PX), Image.Resampling.LANCZOS)
        turned = ImageOps.exif_transpose(image)
        out = io.BytesIO()
        _opaque(turned).save(out, "JPEG", quality=82)
        return out.getvalue()


def _opaque(image: Image.Image) -> Image.Image:
    if image.mode in ("RGBA", "LA", "PA") or "transparency" in image.info:
        whole = image.convert("RGBA")
        white = Image.new("RGBA", whole.size, "white")
        return Image.alpha_composite(white, whole).convert("RGB")
    return image.convert("RGB")
