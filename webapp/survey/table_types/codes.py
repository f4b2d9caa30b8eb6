"""The tables of observation codes, and of the words in a file of readings."""

from collections.abc import Mapping, Sequence
from typing import Literal, NotRequired, TypedDict

from .sourced import Sourced

CodeGroup = Literal["fabric", "operation", "inventory", "other"]


# observation_codes.json with a client's own codes, usual_observations.json


class CodeLetter(TypedDict):
    """One letter of a characterisation; ``remark``: it asks for words, ``side``: where a bend turns to."""

    value: str
    label: str
    remark: NotRequired[bool]
    side: NotRequired[Literal["left", "right"]]


class QuantityLimits(TypedDict, total=False):
    """What differs of a quantity by the first characterisation."""

    unit: str
    least: float
    most: float


class CodeQuantity(TypedDict):
    """What a code asks for as a quantity."""

    label: str
    unit: str
    note: str
    needed: bool
    needed_with: NotRequired[Sequence[str]]
    least: NotRequired[float]
    most: NotRequired[float]
    usual: NotRequired[Sequence[float] | Mapping[str, Sequence[float]]]
    by_characterisation: NotRequired[Mapping[str, QuantityLimits]]


class ObservationCode(TypedDict):
    """A code, and what an observation of it may carry."""

    code: str
    title: str
    group: CodeGroup
    page_one: NotRequired[int]
    pictogram: str
    characterisation_1: Sequence[CodeLetter]
    characterisation_1_needed: bool
    characterisation_2: Sequence[CodeLetter]
    characterisation_2_needed: bool
    characterisation_2_with: NotRequired[Sequence[str]]
    either_characterisation: NotRequired[bool]
    quantification_1: CodeQuantity | None
    quantification_2: CodeQuantity | None
    clock_references: Literal[0, 1, 2]
    clock_needed: bool
    clock_needed_with: NotRequired[Sequence[str]]
    direction_with: NotRequired[Sequence[str]]
    continuous: bool
    joint: Literal["optional", "inherent", "n/a"]
    remark_needed: bool
    search_words: str
    help: str
    certainty: Mapping[str, str]
    status: str
    source: str
    shaky: Sequence[str]
    client: NotRequired[str]


class PipeChange(Sourced):
    """A change of the pipe, which opens a stretch; it is found as codes are."""

    change: Literal["lining", "material", "shape", "size"]
    action: Literal["stretch"]
    field: Literal["height_mm", "lining", "material", "shape"]
    code: None
    title: str
    group: Literal["change"]
    pictogram: str
    search_words: str
    help: str


class CodeSearch(TypedDict):
    """Words that a search leaves out, and words that mean the same."""

    stop_words: Sequence[str]
    same: Sequence[Sequence[str]]


class ObservationCodes(TypedDict):
    """The observation codes, and with them a client's own."""

    title: str
    standard: str
    note: str
    client: NotRequired[str]
    rows: Sequence[ObservationCode]
    changes: Sequence[PipeChange]
    search: CodeSearch


class UsualKey(TypedDict):
    """A key of the form's first screen."""

    code: str
    words: str
    characterisation_1: str
    characterisation_2: NotRequired[str]


class UsualGroup(TypedDict):
    """Keys that stand together, and the code whose letters they are."""

    words: str
    code: NotRequired[str]
    keys: Sequence[UsualKey]


class UsualObservations(Sourced):
    """The keys of the form's first screen."""

    title: str
    rows: Sequence[UsualGroup]


# readings_csv.json


ColumnKind = Literal["counter", "inclination", "level", "number", "other", "remark", "roll", "time"]


class ColumnWords(TypedDict):
    """Words of one language that name a column."""

    column: ColumnKind
    strength: NotRequired[Literal["strong", "weak"]]
    language: str
    words: Sequence[str]
    source: str


class ColumnParts(TypedDict):
    """How words begin or end that name a column."""

    column: ColumnKind
    strength: NotRequired[Literal["strong", "weak"]]
    where: Literal["begins", "ends"]
    words: Sequence[str]
    source: str


class UnitWords(TypedDict):
    """How a unit is written."""

    column: ColumnKind
    unit: str
    words: Sequence[str]
    source: str


class PlusWords(TypedDict):
    """Words that say what a plus means."""

    plus: Literal["falling", "rising"]
    words: Sequence[str]
    source: str


class CsvRowSentence(TypedDict):
    """Why a row of the file is left out."""

    code: str
    sentence: str


class CsvFault(TypedDict):
    """Why the file is not read, or is asked about."""

    code: str
    kind: str
    sentence: str


class ReadingsCsv(Sourced):
    """The words by which the columns of a file of readings are known."""

    title: str
    fold: Mapping[str, str]
    columns: Sequence[ColumnWords]
    parts: Sequence[ColumnParts]
    units: Sequence[UnitWords]
    inside: Sequence[UnitWords]
    plus: Sequence[PlusWords]
    rows: Sequence[CsvRowSentence]
    faults: Sequence[CsvFault]
