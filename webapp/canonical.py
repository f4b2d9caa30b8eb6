"""One spelling of a JSON value, for hashing and comparing what several machines wrote."""

import hashlib
import json
import re
from collections.abc import Callable
from typing import Any

_SURROGATE = re.compile("[\ud800-\udfff]")


def _plain(value: Any) -> Any:
    # JavaScript writes 12.0 as 12: the same number must hash alike wherever it was written.
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        return int(value)
    if isinstance(value, dict):
        return {k: _plain(v) for k, v in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(v) for v in value]
    return value


_ENCODER = json.JSONEncoder(sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)


def _make_encode() -> Callable[[Any], str]:
    """Return the encoder's ``encode``; where CPython has one in C, that is made once."""
    make = getattr(json.encoder, "c_make_encoder", None)
    if make is None:
        return _ENCODER.encode
    own = _ENCODER
    text = json.encoder.encode_basestring
    parts = make(None, own.default, text, None, ":", ",", own.sort_keys, own.skipkeys, own.allow_nan)
    return lambda value: "".join(parts(value, 0))


_encode = _make_encode()


def dumps(value: Any) -> str:
    """Return the canonical JSON text of ``value``: sorted keys, no spaces, no NaN."""
    text = _encode(value)
    # Only a text with ".0" in it can hold a whole float; most have none and need no second look.
    return _encode(_plain(value)) if ".0" in text else text


def escape_surrogates(text: str) -> str:
    """Return JSON text with lone surrogates escaped: they mean the same, and UTF-8 can hold them."""
    return _SURROGATE.sub(lambda m: f"\\u{ord(m[0]):04x}", text)


def digest(value: Any) -> str:
    """Return the SHA-256 of the canonical JSON text, in hexadecimal."""
    return hashlib.sha256(dumps(value).encode("utf-8", "surrogatepass")).hexdigest()
