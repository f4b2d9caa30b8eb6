"""Bodies in and out: limits, strict JSON, gzip both ways."""

import gzip
import json
import zlib
from collections.abc import Callable, Iterator
from typing import Any

from flask import Response, request

from ..budgets import BUDGETS
from ..errors import AppError
from ..messages import t
from ..records.json_size import PIECE_BYTES, JsonSize
from ..records.json_text import loads

_GZIP_FROM_BYTES = 600
_GZIP = 16 + zlib.MAX_WBITS
ANY_RATIO_BYTES = 1 << 20  # so much is unpacked whatever it came in


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


def json_value(limit_bytes: int, unpacked_bytes: int, parse: Callable[[bytes], Any] = loads) -> Any:
    """Return the JSON value of the body, unpacked if it is gzip and counted before it is parsed."""
    data = raw(limit_bytes)
    encoding = request.headers.get("Content-Encoding", "identity").strip().lower()
    if encoding == "gzip":
        data = _counted(unpacked(data, unpacked_bytes))
    elif encoding == "identity":
        data = _counted(data[at : at + PIECE_BYTES] for at in range(0, len(data), PIECE_BYTES))
    else:
        raise AppError("media_type", t("api.body_encoding"), field="Content-Encoding")
    try:
        return parse(data)
    except ValueError as error:
        raise AppError("body_not_json") from error


def _counted(pieces: Iterator[bytes]) -> bytes:
    """Return the text that some pieces make, refused with the first that holds too much to be parsed."""
    size, found = JsonSize(), []
    for piece in pieces:
        size.feed(piece)
        if size.values > BUDGETS.request_values:
            raise AppError("body_too_large", t("api.max_values", most=f"{BUDGETS.request_values:,}"))
        if size.depth > BUDGETS.json_depth:
            raise AppError("body_not_json", t("api.nested_too_deeply"))
        found.append(piece)
    return found[0] if len(found) == 1 else b"".join(found)


def unpacked(data: bytes, limit_bytes: int) -> Iterator[bytes]:
    """Yield what a gzip body holds, in pieces; AppError as soon as it is more than the server takes."""
    machine = zlib.decompressobj(_GZIP)
    most = min(limit_bytes, max(ANY_RATIO_BYTES, len(data) * BUDGETS.inflate_ratio))
    total = 0
    try:
        while not machine.eof:
            piece = machine.decompress(machine.unconsumed_tail or data, PIECE_BYTES)
            data = b""
            if not piece and not machine.unconsumed_tail and not machine.eof:
                break  # it ends too soon
            if (total := total + len(piece)) > most:
                raise AppError("body_too_large", t("api.body_too_large_unpacked"))
            yield piece
    except zlib.error as error:
        raise AppError("body_not_gzip") from error
    if not machine.eof or machine.unused_data:
        raise AppError("body_not_gzip")


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
