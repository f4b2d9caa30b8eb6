"""Files that are called pictures: of every kind, cut off, lying, and far larger than they look."""

import io
import struct
import zlib

import pillow_heif
from PIL import Image

pillow_heif.register_heif_opener()
POSTSCRIPT = b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 9 9\n%%EndComments\n{} loop\n%%EOF\n"
HEAD = {"JPEG": b"\xff\xd8\xff", "PNG": b"\x89PNG\r\n\x1a\n", "WEBP": b"RIFF", "HEIF": b"\0\0\0"}


def saved(form, size=(64, 48), mode="RGB", **how):
    """Return a picture in a file of one form."""
    out = io.BytesIO()
    Image.new(mode, size, 90).save(out, form, **how)
    return out.getvalue()


def animated(form):
    """Return a picture of three frames, the first of them red."""
    out = io.BytesIO()
    first, *rest = (Image.new("RGB", (64, 48), colour) for colour in ("red", "green", "blue"))
    first.save(out, form, save_all=True, append_images=rest, duration=100)
    return out.getvalue()


def chunk(name, data):
    """Return a chunk of a PNG."""
    return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))


def png(width, height, colour_type=6, more=b""):
    """Return a PNG of one colour, made row by row: it takes no memory to make; ``more`` comes first in it."""
    row = bytes(1 + width * {0: 1, 2: 3, 6: 4}[colour_type])
    packer, packed = zlib.compressobj(9), []
    for _ in range(height):
        packed.append(packer.compress(row))
    packed.append(packer.flush())
    head = chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, colour_type, 0, 0, 0))
    return HEAD["PNG"] + head + more + chunk(b"IDAT", b"".join(packed)) + chunk(b"IEND", b"")


def text_bomb(name, unpacked_bytes=150_000_000):
    """Return a chunk of text or of a colour profile that unpacks to far more than it is."""
    packer = zlib.compressobj(9)
    packed = b"".join([packer.compress(bytes(1_000_000)) for _ in range(unpacked_bytes // 1_000_000)])
    packed += packer.flush()
    begins = {b"zTXt": b"k\0\0", b"iTXt": b"k\0\1\0\0\0", b"iCCP": b"k\0\0"}[name]
    return chunk(name, begins + packed)


def jpeg_of_many_passes(times, size=(2000, 1500)):
    """Return a progressive JPEG whose last pass is there so many times over."""
    data = saved("JPEG", size, progressive=True)
    last = data.rindex(b"\xff\xda")
    return data[:last] + data[last:-2] * times + data[-2:]


def jpeg_with_metadata(size_bytes):
    """Return a small JPEG behind so many bytes of metadata."""
    data = saved("JPEG")
    part = b"\xff\xed" + struct.pack(">H", 65_535) + bytes(65_533)
    return data[:2] + part * (size_bytes // 65_535) + data[2:]
