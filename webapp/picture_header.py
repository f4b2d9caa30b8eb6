"""What the first bytes of a picture say of it: its kind and its size.  Nothing is decoded.

Only kinds that are listed here are ever given to a decoder, and only after their size is known to be one
that it can hold: a file of 1 MB may unpack to gigabytes.
"""

from collections.abc import Iterator
from dataclasses import dataclass

HEIC_BRANDS = {b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1"}
WHOLE_PX = 50_000_000  # of a picture that is decoded whole: 4 to 8 bytes each
WEBP_PX = 25_000_000  # its decoder holds 16 bytes each
IN_STRIPS_PX = 250_000_000  # of a JPEG that is decoded strip by strip, and small from the start
SCANNED_PX = 1_000_000_000  # pixels times passes over them, of a JPEG in several passes
_FRAMES = set(range(0xC0, 0xD0)) - {0xC4, 0xC8, 0xCC}  # SOF0 to SOF15
_SEQUENTIAL = {0xC0, 0xC1}
_ALONE = {0x01, *range(0xD0, 0xD8)}  # markers without a length
_SCAN, _END = 0xDA, 0xD9


class HeaderDamaged(ValueError):
    """The kind is known, and its header cannot be read."""


@dataclass(frozen=True)
class PictureHeader:
    """``passes``: how often the decoder goes over all pixels; 0: strip by strip, only once."""

    kind: str  # "jpeg", "png", "webp", "heic"
    width_px: int
    height_px: int
    passes: int = 1

    @property
    def too_large(self) -> bool:
        """Say whether it has more pixels than are decoded."""
        pixels = self.width_px * self.height_px
        if self.passes == 0:
            return pixels > IN_STRIPS_PX
        return pixels > (WEBP_PX if self.kind == "webp" else WHOLE_PX) or pixels * self.passes > SCANNED_PX


def why_not_shown(data: bytes, size_bytes: int) -> str:
    """Return why a report will not show a picture, as far as its first bytes tell: "" where it may.

    ``kind``, ``too_large`` or ``not_decoded``; ``data`` may be the beginning of ``size_bytes``.
    """
    try:
        header = read_header(data)
    except HeaderDamaged:
        return "not_decoded" if len(data) >= size_bytes else ""
    if header is None:
        return "kind"
    return "too_large" if header.too_large else ""


def read_header(data: bytes) -> PictureHeader | None:
    """Return what a picture says of itself; None where it is none of the kinds.

    Raises HeaderDamaged where the kind is clear and the size is not to be found.
    """
    for kind, read in (("jpeg", _jpeg), ("png", _png), ("webp", _webp), ("heic", _heic)):
        if kind_of(data) == kind:
            found = read(data)
            if found.width_px < 1 or found.height_px < 1:
                raise HeaderDamaged("a picture without an area")
            return found
    return None


def kind_of(data: bytes) -> str | None:
    """Return the kind of a picture by its first 32 bytes."""
    if data[:3] == b"\xff\xd8\xff":
        return "jpeg"
    if data[:8] == b"\x89PNG\r\n\x1a\n":
        return "png"
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        return "webp"
    if data[4:8] == b"ftyp" and data[8:12] in HEIC_BRANDS:
        return "heic"
    return None


def _number(data: bytes, at: int, size: int, order: str = "big") -> int:
    part = data[at : at + size]
    if len(part) < size:
        raise HeaderDamaged("the header is cut off")
    return int.from_bytes(part, "little" if order == "little" else "big")


def _png(data: bytes) -> PictureHeader:
    if data[12:16] != b"IHDR":
        raise HeaderDamaged("no IHDR")
    return PictureHeader("png", _number(data, 16, 4), _number(data, 20, 4))


def _webp(data: bytes) -> PictureHeader:
    form = data[12:16]
    if form == b"VP8X":
        width, height = (1 + _number(data, at, 3, "little") for at in (24, 27))
    elif form == b"VP8L":
        bits = _number(data, 21, 4, "little")
        width, height = 1 + (bits & 0x3FFF), 1 + (bits >> 14 & 0x3FFF)
    elif form == b"VP8 ":
        width, height = (_number(data, at, 2, "little") & 0x3FFF for at in (26, 28))
    else:
        raise HeaderDamaged("no VP8")
    return PictureHeader("webp", width, height)


def _jpeg(data: bytes) -> PictureHeader:
    size, sequential, components = (0, 0), False, 0
    for marker, at in _jpeg_markers(data):
        if marker in _FRAMES:
            size = (_number(data, at + 5, 2), _number(data, at + 3, 2))
            sequential, components = marker in _SEQUENTIAL, _number(data, at + 7, 1)
        elif marker == _SCAN:
            if sequential and _number(data, at + 2, 1) == components:
                return PictureHeader("jpeg", *size, passes=0)
            # A marker in what is packed is always stuffed, so that these bytes are the start of a scan.
            return PictureHeader("jpeg", *size, passes=max(1, data.count(b"\xff\xda", at - 2)))
    raise HeaderDamaged("no scan")


def _jpeg_markers(data: bytes) -> Iterator[tuple[int, int]]:
    """Yield each marker with where its length stands, up to the first scan."""
    at = 2
    while True:
        at = data.find(b"\xff", at)
        if at < 0:
            raise HeaderDamaged("the header is cut off")
        marker = _number(data, at + 1, 1)
        if marker in (0x00, 0xFF):
            at += 1
        elif marker in _ALONE:
            at += 2
        elif marker == _END:
            raise HeaderDamaged("ends before its picture")
        else:
            yield marker, at + 2
            at += 2 + max(2, _number(data, at + 2, 2))


def _heic(data: bytes) -> PictureHeader:
    """The largest of the sizes that its items state (ISO/IEC 23008-12, property ``ispe``)."""
    sizes = [
        (_number(data, at + 4, 4), _number(data, at + 8, 4))
        for meta in _boxes(data, 0, len(data), b"meta")
        for properties in _boxes(data, meta[0] + 4, meta[1], b"iprp")
        for container in _boxes(data, *properties, b"ipco")
        for at, _ in _boxes(data, *container, b"ispe")
    ]
    if not sizes:
        raise HeaderDamaged("no ispe")
    return PictureHeader("heic", *max(sizes, key=lambda size: size[0] * size[1]))


def _boxes(data: bytes, at: int, end: int, name: bytes) -> Iterator[tuple[int, int]]:
    """Yield where the content of each box of a name begins and ends."""
    while at + 8 <= end:
        length, begins = _number(data, at, 4), at + 8
        if length == 1:
            length, begins = _number(data, at + 8, 8), at + 16
        elif length == 0:
            length = end - at
        if length < begins - at:
            raise HeaderDamaged("a box shorter than its head")
        if data[at + 4 : at + 8] == name:
            yield begins, min(at + length, end)
        at += length
