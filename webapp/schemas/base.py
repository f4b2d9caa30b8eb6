"""Field types of the records.  Every field knows its label, unit, range and plain sentences.

Everything the phone's forms show is read from here by :mod:`webapp.schemas.describe`.
"""

import math
import re
from collections.abc import Mapping, Sequence
from typing import Any, ClassVar

from marshmallow import RAISE, Schema, ValidationError, fields, validate

UUID = re.compile(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}")
CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff]")


class RecordSchema(Schema):
    """Base of the ten kinds.  Loads some or all fields of one record."""

    class Meta:
        unknown = RAISE

    error_messages = {"unknown": "This version of Fallbook does not know this field."}
    KIND: ClassVar[str] = ""
    LABEL: ClassVar[str] = ""
    PLURAL: ClassVar[str] = ""

    removed = fields.Boolean(
        truthy={True},
        falsy={False},
        metadata={"label": "Removed", "type": "flag", "hidden": True},
        error_messages={"invalid": "Removed is either true or false."},
    )


class Number(fields.Field[float]):
    """A JSON number, finite, within a range; never text and never a truth value."""

    def __init__(self, minimum: float, maximum: float, unit: str, *, whole: bool = False, **kw: Any):
        self.minimum, self.maximum, self.unit, self.whole = minimum, maximum, unit, whole
        super().__init__(allow_none=True, **kw)

    def _deserialize(self, value: Any, attr: Any, data: Any, **kw: Any) -> float:
        label = self.metadata["label"]
        if isinstance(value, bool) or not isinstance(value, int | float) or not _finite(value):
            raise ValidationError(f"{label} must be a number{_in(self.unit)}.")
        if self.whole and value != int(value):
            raise ValidationError(f"{label} must be a whole number{_in(self.unit)}.")
        if not self.minimum <= value <= self.maximum:
            raise ValidationError(range_sentence(label, self.minimum, self.maximum, self.unit))
        return value


def part_of_counter(label: str = "Counter part") -> Number:
    """Return the field that says in which part of a counter that was reset a place was read.

    1 before the first reset, 2 after it, and so on; empty: by the order of recording.
    """
    return Number(1, 100, "", whole=True, metadata=meta(label, type="counter_part"))


class Text(fields.Field[str]):
    """Free text, kept as typed; only unprintable control characters are refused."""

    def __init__(self, longest: int, *, lines: int = 1, **kw: Any):
        self.longest, self.lines = longest, lines
        super().__init__(allow_none=True, **kw)

    def _deserialize(self, value: Any, attr: Any, data: Any, **kw: Any) -> str:
        label = self.metadata["label"]
        if not isinstance(value, str):
            raise ValidationError(f"{label} must be text.")
        if len(value) > self.longest:
            raise ValidationError(f"{label} can be at most {self.longest} characters long.")
        if CONTROL.search(value):
            raise ValidationError(f"{label} holds characters that cannot be printed. Type it again.")
        return value


class Choice(fields.Field[str]):
    """One of a closed list; the list is part of the field."""

    def __init__(self, choices: Mapping[str, str], **kw: Any):
        self.choices = dict(choices)
        super().__init__(allow_none=True, **kw)

    def _deserialize(self, value: Any, attr: Any, data: Any, **kw: Any) -> str:
        if not isinstance(value, str) or value not in self.choices:
            listed = ", ".join(self.choices.values())
            raise ValidationError(f"{self.metadata['label']} must be one of: {listed}.")
        return value


class Flag(fields.Field[bool]):
    """Yes or no."""

    def __init__(self, **kw: Any):
        super().__init__(allow_none=True, **kw)

    def _deserialize(self, value: Any, attr: Any, data: Any, **kw: Any) -> bool:
        if not isinstance(value, bool):
            raise ValidationError(f"{self.metadata['label']} is either yes or no.")
        return value


class Ref(fields.Field[str]):
    """The id of another record (a UUID in its usual lower-case spelling)."""

    def __init__(self, to: str, **kw: Any):
        self.to = to
        super().__init__(allow_none=True, **kw)

    def _deserialize(self, value: Any, attr: Any, data: Any, **kw: Any) -> str:
        if not is_uuid(value):
            raise ValidationError(f"{self.metadata['label']} does not name a record.")
        return str(value)


class Pattern(fields.Field[str]):
    """Text of a fixed form, such as a SHA-256 or a date."""

    def __init__(self, pattern: str, sentence: str, **kw: Any):
        self.pattern, self.sentence = re.compile(pattern), sentence
        super().__init__(allow_none=True, **kw)

    def _deserialize(self, value: Any, attr: Any, data: Any, **kw: Any) -> str:
        if not isinstance(value, str) or not self.pattern.fullmatch(value):
            raise ValidationError(self.sentence)
        return str(value)


class Whole(fields.Nested):
    """A value that only makes sense whole: several parts, one field, one register."""

    def __init__(self, schema: type[Schema], form: str, **kw: Any):
        self.form = form
        super().__init__(schema, allow_none=True, **kw)

    def _deserialize(self, value: Any, attr: Any, data: Any, partial: Any = None, **kw: Any) -> Any:
        # An entry may bring some of a record's fields, but never a part of a whole value.
        return super()._deserialize(value, attr, data, partial=False, **kw)


class PartSchema(Schema):
    """Base of the parts of a whole value."""

    JSON_RULE: ClassVar[dict[str, Any]] = {}  # what JSON Schema can say of how the parts hang together

    class Meta:
        unknown = RAISE

    error_messages = {"unknown": "This version of Fallbook does not know this part."}

    def on_bind_field(self, field_name: str, field_obj: Any) -> None:
        """Give the part its own sentence for being left out."""
        label = field_obj.metadata.get("label", field_name.capitalize())
        field_obj.error_messages["required"] = f"{label} is missing."


def _finite(value: float) -> bool:
    try:
        return math.isfinite(value)
    except OverflowError:  # a whole number of hundreds of digits
        return False


def _in(unit: str) -> str:
    return f" in {unit}" if unit else ""


def range_sentence(label: str, minimum: float, maximum: float, unit: str) -> str:
    """Return the sentence shown for a number out of range."""
    tail = f" {unit}" if unit else ""
    return f"{label} must lie between {minimum:g} and {maximum:g}{tail}."


def is_uuid(value: Any) -> bool:
    """Say whether ``value`` is a UUID in its usual lower-case spelling."""
    return isinstance(value, str) and UUID.fullmatch(value) is not None


def meta(label: str, **more: Any) -> dict[str, Any]:
    """Return the metadata of a field: its label and, by keyword, help, required, advanced."""
    return {"label": label, **more}


def one_of(values: Sequence[str]) -> validate.OneOf:
    """Return a validator for a closed list inside a whole value."""
    return validate.OneOf(values, error="Must be one of: {choices}.")
