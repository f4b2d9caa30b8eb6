"""The tables of checks, of the safety sheet and of the exchange format."""

from collections.abc import Sequence
from typing import Literal, NotRequired, TypedDict

from .sourced import Sourced

Severity = Literal["desk", "hazard", "site"]
LimitName = Literal[
    "longest_gap_m",
    "least_length_m",
    "start_within_m",
    "even_pct",
    "dark_pct",
    "bright_pct",
    "least_focus",
]

# exchange_headers.json


class HeaderCertainty(TypedDict):
    """How sure a name of the exchange format is, and how sure its values."""

    name: str
    values: str


class HeaderValue(TypedDict):
    """A letter of the exchange format, and the choice that it stands for."""

    letter: str
    title: str
    value: str | None


class ExchangeHeader(TypedDict):
    """A header of the exchange format, and the field that it is."""

    code: str
    title: str
    use: Literal["as_given", "constant", "held_back", "mapped"]
    field: str
    unit: Literal["", "m", "mm"]
    certainty: HeaderCertainty
    source: str
    note: str
    values: NotRequired[Sequence[HeaderValue]]
    values_table: NotRequired[Literal["linings", "materials", "shapes"]]


class ExchangeChange(TypedDict):
    """A change inside a file of the exchange format."""

    code: str
    title: str
    places: str
    certainty: HeaderCertainty
    source: str


class ExchangeColumn(Sourced):
    """A column of the rows of observations."""

    code: str
    title: str


class ExchangeHeaders(TypedDict):
    """The headers of the exchange format."""

    title: str
    standard: str
    note: str
    rows: Sequence[ExchangeHeader]
    changes: Sequence[ExchangeChange]
    columns: Sequence[ExchangeColumn]


# findings.json, leave_site.json


class FindingRow(TypedDict):
    """What a check says of a record."""

    code: str
    severity: Literal["note", "warn"]
    sentence: str


class Findings(TypedDict):
    """What the checks say of records."""

    title: str
    rows: Sequence[FindingRow]


class LeaveCodes(TypedDict):
    """Which observations tell of the ends of a run."""

    start_code: str
    finish_code: str
    abandoned_code: str


class LeaveLimit(Sourced):
    """A limit of the checks before leaving."""

    name: Literal[
        "longest_gap_m",
        "least_length_m",
        "start_within_m",
        "even_pct",
        "dark_pct",
        "bright_pct",
        "least_focus",
    ]
    label: str
    value: float
    unit: str
    meaning: str


class LeaveItem(Sourced):
    """A check before leaving: how grave, where it is mended, and its sentences."""

    code: str
    severity: Severity
    where: str
    check: str
    sentence: str
    why: str
    phone_only: NotRequired[bool]


class LeaveSite(TypedDict):
    """The checks before leaving the site."""

    title: str
    note: str
    codes: LeaveCodes
    photo_codes: Sequence[str]
    photo_codes_note: str
    limits: Sequence[LeaveLimit]
    rows: Sequence[LeaveItem]


# safety_sheet.json


class SafetyQuestion(Sourced):
    """A question of the safety sheet, and the answer that is hoped for."""

    id: str
    question: str
    expected: Literal["no", "yes", "yes_or_na"]
    help: str
    url: str


class SafetyCaution(TypedDict):
    """A caution beside the questions."""

    topic: str
    text: str
    law: str
    certainty: str
    url: str


class SafetySheet(TypedDict):
    """The safety sheet."""

    title: str
    note: str
    rows: Sequence[SafetyQuestion]
    cautions: Sequence[SafetyCaution]
