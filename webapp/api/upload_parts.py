"""The header ``Upload-Parts``: which photos lie one behind the other in a body.

A structured list (RFC 8941) of hashes, each with its length and media type and nothing else::

    "9f86...";length=200000;type="image/jpeg", "60303...";length=181022;type="image/png"
"""

import re

from ..errors import AppError
from ..sync.photos import MOST_TOGETHER, Whole

NAME = "Upload-Parts"
_TEXT = r'"((?:[ !#-\[\]-~]|\\["\\])*)"'
_LENGTH, _TYPE = r"; *length=([0-9]{1,15})", rf"; *type={_TEXT}"
_PART = re.compile(rf'"([0-9a-f]{{64}})"(?:{_LENGTH}{_TYPE}|{_TYPE}{_LENGTH})')
_BETWEEN = re.compile(r"[ \t]*,[ \t]*")
_ESCAPED = re.compile(r"\\(.)")


def read(header: str) -> list[tuple[str, int, str]]:
    """Return hash, length in bytes and media type of each part; AppError where it is not of the form."""
    found: list[tuple[str, int, str]] = []
    at, header = 0, header.strip(" ")
    while part := _PART.match(header, at):
        sha256, length, said, said_first, length_last = part.groups()
        media_type = _ESCAPED.sub(r"\1", said if said is not None else said_first)
        found.append((sha256, int(length or length_last), media_type))
        at = part.end()
        if at == len(header):
            return _checked(found)
        comma = _BETWEEN.match(header, at)
        if comma is None:
            break
        at = comma.end()
    raise _refused(f'Part {len(found) + 1} is not "<sha256>";length=<bytes>;type="<media type>".')


def cut(header: str, body: bytes) -> list[Whole]:
    """Return the photos of a body; AppError where header and body do not fit together."""
    parts = read(header)
    told = sum(length for _, length, _ in parts)
    if told != len(body):
        raise _refused(f"The parts make {told:,} bytes, the body has {len(body):,}.")
    found, at, view = [], 0, memoryview(body)
    for sha256, length, media_type in parts:
        found.append(Whole(sha256, view[at : at + length], media_type))
        at += length
    return found


def _checked(parts: list[tuple[str, int, str]]) -> list[tuple[str, int, str]]:
    if len(parts) > MOST_TOGETHER:
        raise _refused(f"At most {MOST_TOGETHER} photos go in one request.")
    if len({sha256 for sha256, _, _ in parts}) < len(parts):
        raise _refused("A photo is named twice.")
    if any(length < 1 for _, length, _ in parts):
        raise _refused("A photo has at least one byte.")
    return parts


def _refused(detail: str) -> AppError:
    return AppError("request_malformed", detail, field=NAME)
