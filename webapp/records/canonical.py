"""One spelling of a JSON value, for hashing and comparing what several machines wrote."""

import hashlib
import json
import re
from typing import Any

import orjson

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
_FAST = orjson.OPT_SORT_KEYS | orjson.OPT_PASSTHROUGH_SUBCLASS | orjson.OPT_PASSTHROUGH_DATACLASS
_WHOLE_FLOAT = re.compile(r"\.0(?!\d)")
_SMALL_FLOAT = re.compile(r"e-\d+(?:[,\]}]|$)")
# Stored hashes hang on the spelling, which is that of the standard library.
_IS_ALIKE = (
    orjson.dumps([1e16, 1e-4, -0.5, "\0\x7f\u2028"]) == b'[1e+16,0.0001,-0.5,"\\u0000\x7f\xe2\x80\xa8"]'
)


def _encode(value: Any) -> str:
    try:
        text = orjson.dumps(value, option=_FAST).decode()
    except TypeError:  # whole numbers beyond 64 bits, lone surrogates
        return _ENCODER.encode(value)
    # The fast encoder writes null for what is no number, and spells numbers below 0.0001 its own way.
    if not _IS_ALIKE or "null" in text or _has_small(text):
        return _ENCODER.encode(value)
    return text


def _has_small(text: str) -> bool:
    return "0.0000" in text or _SMALL_FLOAT.search(text) is not None


def dumps(value: Any) -> str:
    """Return the canonical JSON text of ``value``: sorted keys, no spaces, no NaN."""
    text = _encode(value)
    # Only a text with ".0" in it can hold a whole float; most have none and need no second look.
    return _encode(_plain(value)) if ".0" in text and _WHOLE_FLOAT.search(text) else text


def escape_surrogates(text: str) -> str:
    """Return JSON text with lone surrogates escaped: they mean the same, and UTF-8 can hold them."""
    return _SURROGATE.sub(lambda m: f"\\u{ord(m[0]):04x}", text)


def digest(value: Any) -> str:
    """Return the SHA-256 of the canonical JSON text, in hexadecimal."""
    return hashlib.sha256(dumps(value).encode("utf-8", "surrogatepass")).hexdigest()
