"""Strict JSON in UTF-8: what comes from outside, as plain values."""

import json
import math
from collections.abc import Callable
from typing import Any

import orjson

from ..budgets import BUDGETS
from ..errors import AppError
from ..messages import t
from .json_size import json_size

Pairs = Callable[[list[tuple[str, Any]]], Any]


def loads(data: bytes, pairs: Pairs | None = None) -> Any:
    """Return the JSON value of ``data``; ValueError for anything that is not strict JSON in UTF-8.

    ``pairs`` makes the value of an object from its names and values.
    """
    text = data.decode("utf-8-sig")
    try:
        return json.loads(text, parse_constant=_refuse, parse_float=_finite, object_pairs_hook=pairs)
    except RecursionError as error:
        raise ValueError(t("jobcheck.too_deep")) from error


def loads_fast(data: bytes) -> Any:
    """Return the JSON value of ``data`` as :func:`loads` does, sooner; ValueError for the same texts.

    Whole numbers of more than 64 bits may come as floats: beyond what an entry may hold in either form.
    """
    try:
        return orjson.loads(data)
    except orjson.JSONDecodeError:  # for lone surrogates, a byte order mark, hundreds of digits, too
        return loads(data)


def loads_counted(data: bytes, pairs: Pairs | None = None) -> Any:
    """Return the JSON value of a file; AppError if it holds more than is taken.  See ``loads``."""
    size = json_size(data)
    if size.values > BUDGETS.job_file_values:
        raise AppError("file_unreadable", t("file.too_many_values", most=f"{BUDGETS.job_file_values:,}"))
    if size.depth > BUDGETS.json_depth:
        raise ValueError(t("jobcheck.too_deep"))
    return loads(data, pairs)


def _refuse(name: str) -> None:
    raise ValueError(t("jobcheck.not_json", name=name))


def _finite(text: str) -> float:
    # 1e999 is JSON, but the infinity that it becomes could be neither stored nor sent on.
    if math.isinf(value := float(text)):
        raise ValueError(t("jobcheck.not_a_number", text=text))
    return value
