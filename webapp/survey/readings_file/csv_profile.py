"""What a person said of an instrument's files, kept for its next one: known by the names of the columns."""

from collections.abc import Mapping
from typing import Any, cast

from .csv_choices import CsvAnswers
from .readings_csv import CsvResult

NAMES = (
    "counter_column", "inclination_column", "remark_column", "counter_unit", "inclination_unit", "plus",
    "decimal",
)  # fmt: skip
MAX_CHARACTERS = 1000


def header_signature(header: list[str], header_line: int) -> str:
    """Return what the files of one instrument have in common: the names of their columns.

    Parameters
    ----------
    header : list of str
        ``header`` of ``read_readings``.

    Examples
    --------
    >>> header_signature(["Weg [m]", "Neigung"], 3)
    'weg [m] | neigung'
    """
    return " | ".join(name.lower() for name in header)[:MAX_CHARACTERS] if header_line else ""


def answers_of(result: CsvResult) -> CsvAnswers:
    """Return what a person said of a file that holds for the next one of its kind too.

    Parameters
    ----------
    result : mapping
        What ``read_readings`` returned.

    Examples
    --------
    >>> known = {"plus": "chosen", "counter_column": "file"}
    >>> answers_of({"choices": {"plus": "rising", "counter_column": 0}, "known": known})
    {'plus': 'rising'}
    """
    used, provenance = cast(Mapping[str, Any], result["choices"]), result["known"]
    kept = {name: used.get(name) for name in NAMES if provenance.get(name) in ("chosen", "remembered")}
    if "remark_column" in kept and kept["remark_column"] is None:
        kept["remark_column"] = -1
    return cast(CsvAnswers, {name: value for name, value in kept.items() if value is not None})
