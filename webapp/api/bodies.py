"""Bodies in and out: limits, strict JSON, gzip both ways."""

import gzip
import json
import zlib
from typing import Any

from flask import Response, request

from ..errors import AppError
from ..messages import t
from ..records.job_file import loads

_GZIP_FROM_BYTES = 600
_GZIP = 16 + zlib.MAX_WBITS


def raw(limit_bytes: int) -> bytes:
    """Return the body as it came, at most ``limit_bytes`` of it."""
    length = request.content_length
    if (length or 0) > limit_bytes:
        raise AppError("body_too_large")
    request.max_content_length = limit_bytes
    if length is None:  # in chunks
        return request.get_data(cache=False)
    data: bytes = request.environ["wsgi.input"].read(length)  # at once: the framework copies it twice
    if len(data) < length:
        raise AppError("request_malformed", t("api.body_short"))
    return data


def json_value(limit_bytes: int, unpacked_bytes: int) -> Any:
    """Return the JSON value of the body, unpacked if it is gzip."""
    data = raw(limit_bytes)
    encoding = request.headers.get("Content-Encoding", "identity").strip().lower()
    if encoding == "gzip":
        data = unpack(data, unpacked_bytes)
    elif encoding != "identity":
        raise AppError("media_type", t("api.body_encoding"), field="Content-Encoding")
    try:
        return loads(data)
    except ValueError as error:
        raise AppError("body_not_json") from error


def unpack(data: bytes, limit_bytes: int) -> bytes:
    """Return what a gzip body holds; never more of it in memory than ``limit_bytes``."""
    machine = zlib.decompressobj(_GZIP)
    try:
        found = machine.decompress(data, limit_bytes + 1)
    except zlib.error as error:
        raise AppError("body_not_gzip") from error
    if len(found) > limit_bytes:
        raise AppError("body_too_large", t("api.body_too_large_unpacked"))
    if not machine.eof or machine.unused_data:
        raise AppError("body_not_gzip")
    return found


def answer(text: str | bytes, status: int = 200) -> Response:
    """Return a JSON response, gzip where the client takes it and it is worth it."""
    body = text.encode() if isinstance(text, str) else text
    response = Response(status=status, content_type="application/json")
    response.headers["Vary"] = "Accept-Encoding"
    if len(body) >= _GZIP_FROM_BYTES and request.accept_encodings["gzip"] > 0:
        body = gzip.compress(body, compresslevel=5, mtime=0)
        response.headers["Content-Encoding"] = "gzip"
    response.set_data(body)
    return response


def answer_value(value: Any, status: int = 200) -> Response:
    """Return a value as a JSON response."""
    return answer(json.dumps(value, separators=(",", ":")), status)


def error_text(error: AppError) -> str:
    """Return the one error shape."""
    return json.dumps(error.as_json(), separators=(",", ":"))
