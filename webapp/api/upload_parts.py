"""The header ``Upload-Parts``: which photos lie one behind the other in a body.

A structured list (RFC 9651) of hashes, each with its length and media type and nothing else::

    "9f86...";length=200000;type="image/jpeg", "60303...";length=181022;type="image/png"
"""

from typing import Any

import http_sf

from ..errors import AppError
from ..messages import t
from ..sync.photos import MAX_TOGETHER, SHA256, Whole

NAME = "Upload-Parts"


def read(header: str) -> list[tuple[str, int, str]]:
    """Return hash, length in bytes and media type of each part; AppError where it is not of the form."""
    try:
        members: Any = http_sf.parse(header.encode(), tltype="list", on_duplicate_key=_twice)
    except http_sf.StructuredFieldError as error:
        raise _refused(t("api.parts_no_list", why=error)) from error
    return _checked([_part(number, member) for number, member in enumerate(members, 1)])


def cut(header: str, body: bytes) -> list[Whole]:
    """Return the photos of a body; AppError where header and body do not fit together."""
    parts = read(header)
    declared_bytes = sum(length for _, length, _ in parts)
    if declared_bytes != len(body):
        raise _refused(t("api.parts_length", parts_bytes=f"{declared_bytes:,}", body_bytes=f"{len(body):,}"))
    found, at, view = [], 0, memoryview(body)
    for sha256, length, media_type in parts:
        found.append(Whole(sha256, view[at : at + length], media_type))
        at += length
    return found


def _part(number: int, member: Any) -> tuple[str, int, str]:
    sha256, stated = member
    length, media_type = stated.get("length"), stated.get("type")
    named = type(sha256) is str and SHA256.fullmatch(sha256)
    if not (named and len(stated) == 2 and type(length) is int and type(media_type) is str):
        raise _refused(t("api.part_malformed", number=number))
    return sha256, length, media_type


def _twice(name: str, _where: str) -> None:
    raise _refused(t("api.part_value_twice", name=name))


def _checked(parts: list[tuple[str, int, str]]) -> list[tuple[str, int, str]]:
    if len(parts) > MAX_TOGETHER:
        raise _refused(t("api.too_many_together", most=MAX_TOGETHER))
    if len({sha256 for sha256, _, _ in parts}) < len(parts):
        raise _refused(t("api.photo_named_twice"))
    if not parts or any(length < 1 for _, length, _ in parts):
        raise _refused(t("api.photo_empty"))
    return parts


def _refused(detail: str) -> AppError:
    return AppError("request_malformed", detail, field=NAME)
