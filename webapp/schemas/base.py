"""Field types of the records.  Every field knows its label, unit, range and plain sentences.

A rule stands once, as ``accepts``: hundreds of thousands of values are asked of it in a sync.  What it turns
down goes to marshmallow, which words the reason (:meth:`Checked.fault`).

Everything the phone's forms show is read from here by :mod:`webapp.schemas.describe`.
"""

import functools
import math
import re
from collections.abc import Callable, Mapping, Sequence
from typing import Any, ClassVar, TypeVar

from marshmallow import RAISE, Schema, ValidationError, fields, validate, validates_schema

UUID = re.compile(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}")
CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff]")


Value = TypeVar("Value")


class Checked(fields.Field[Value]):
    """A field with one rule, and a sentence for what breaks it."""

    def __init__(self, **kw: Any):
        super().__init__(allow_none=True, **kw)

    def accepts(self, value: Any) -> bool:
        """Say whether a value that is there is good."""
        raise NotImplementedError

    def fault(self, value: Any) -> str:
        """Return what is wrong with a value that is not good."""
        raise NotImplementedError

    def _deserialize(self, value: Any, attr: Any, data: Any, **kw: Any) -> Value:
        if not self.accepts(value):
            raise ValidationError(self.fault(value))
        good: Value = value
        return good


class Truth(fields.Boolean):
    """True or false, never cleared."""

    def __init__(self, **kw: Any):
        super().__init__(truthy={True}, falsy={False}, **kw)

    def accepts(self, value: Any) -> bool:
        """Say whether a value is good without doubt."""
        return value is True or value is False


class Word(fields.String):
    """One word of a closed list inside a whole value, never cleared."""

    def __init__(self, words: Sequence[str], **kw: Any):
        self._words = frozenset(words)
        super().__init__(validate=validate.OneOf(words, error="Must be one of: {choices}."), **kw)

    def accepts(self, value: Any) -> bool:
        """Say whether a value is good without doubt."""
        return type(value) is str and value in self._words


class CheckedSchema(Schema):
    """Base of every object that crosses the wire."""

    def check_together(self, data: dict[str, Any]) -> None:
        """Raise ValidationError where values that are good by themselves do not go together."""

    @validates_schema
    def _together(self, data: dict[str, Any], **kw: Any) -> None:
        self.check_together(data)

    def accepts(self, value: Any, *, partial: bool) -> bool:
        """Say whether an object is good without doubt; where not, :meth:`load` decides and gives the reason.

        ``partial``: some of the fields are enough.
        """
        if not isinstance(value, dict) or not (partial or self._required <= value.keys()):
            return False
        rules = self._rules
        for name, part in value.items():
            rule = rules.get(name)
            if rule is None or not (rule[1](part) if part is not None else rule[0]):
                return False
        return self._go_together(value)

    def _go_together(self, data: dict[str, Any]) -> bool:
        if type(self).check_together is CheckedSchema.check_together:
            return True
        try:
            self.check_together(data)
        except ValidationError:
            return False
        return True

    @functools.cached_property
    def _rules(self) -> dict[str, tuple[bool, Callable[[Any], bool]]]:
        """Return for each field whether it may be cleared, and its rule; none stands for never good."""
        return {
            name: (field.allow_none, getattr(field, "accepts", _never)) for name, field in self.fields.items()
        }

    @functools.cached_property
    def _required(self) -> set[str]:
        return {name for name, field in self.fields.items() if field.required}


class RecordSchema(CheckedSchema):
    """Base of the ten kinds.  Loads some or all fields of one record."""

    class Meta:
        unknown = RAISE

    error_messages = {"unknown": "This version of Fallbook does not know this field."}
    KIND: ClassVar[str] = ""
    LABEL: ClassVar[str] = ""
    PLURAL: ClassVar[str] = ""
    # Fields that a form and the pack place by hand; None where all follow from their descriptions.
    PLACED: ClassVar[frozenset[str] | None] = None

    removed = Truth(
        metadata={"label": "Removed", "type": "flag", "hidden": True},
        error_messages={"invalid": "Removed is either true or false."},
    )


class Number(Checked[float]):
    """A JSON number, finite, within a range; never text and never a truth value."""

    def __init__(self, minimum: float, maximum: float, unit: str, *, whole: bool = False, **kw: Any):
        self.minimum, self.maximum, self.unit, self.whole = minimum, maximum, unit, whole
        super().__init__(**kw)

    def accepts(self, value: Any) -> bool:
        if type(value) is float:
            return self.minimum <= value <= self.maximum and not (self.whole and value % 1)
        return type(value) is int and self.minimum <= value <= self.maximum

    def fault(self, value: Any) -> str:
        label = self.metadata["label"]
        if isinstance(value, bool) or not isinstance(value, int | float) or not _finite(value):
            return f"{label} must be a number{_in(self.unit)}."
        if self.whole and value != int(value):
            return f"{label} must be a whole number{_in(self.unit)}."
        return range_sentence(label, self.minimum, self.maximum, self.unit)


def part_of_counter(label: str = "Counter part") -> Number:
    """Return the field that says in which part of a counter that was reset a place was read.

    1 before the first reset, 2 after it, and so on; empty: by the order of recording.
    """
    return Number(1, 100, "", whole=True, metadata=meta(label, type="counter_part"))


class Text(Checked[str]):
    """Free text, kept as typed; only unprintable control characters are refused."""

    def __init__(self, longest: int, *, lines: int = 1, **kw: Any):
        self.longest, self.lines = longest, lines
        super().__init__(**kw)

    def accepts(self, value: Any) -> bool:
        return (
            isinstance(value, str)
            and len(value) <= self.longest
            and (value.isprintable() or not CONTROL.search(value))
        )

    def fault(self, value: Any) -> str:
        label = self.metadata["label"]
        if not isinstance(value, str):
            return f"{label} must be text."
        if len(value) > self.longest:
            return f"{label} can be at most {self.longest} characters long."
        return f"{label} holds characters that cannot be printed. Type it again."


class Choice(Checked[str]):
    """One of a closed list; the list is part of the field."""

    def __init__(self, choices: Mapping[str, str], **kw: Any):
        self.choices = dict(choices)
        super().__init__(**kw)

    def accepts(self, value: Any) -> bool:
        return isinstance(value, str) and value in self.choices

    def fault(self, value: Any) -> str:
        return f"{self.metadata['label']} must be one of: {', '.join(self.choices.values())}."


class Flag(Checked[bool]):
    """Yes or no."""

    def accepts(self, value: Any) -> bool:
        return value is True or value is False

    def fault(self, value: Any) -> str:
        return f"{self.metadata['label']} is either yes or no."


class Ref(Checked[str]):
    """The id of another record (a UUID in its usual lower-case spelling)."""

    def __init__(self, to: str, **kw: Any):
        self.to = to
        super().__init__(**kw)

    def accepts(self, value: Any) -> bool:
        return is_uuid(value)

    def fault(self, value: Any) -> str:
        return f"{self.metadata['label']} does not name a record."


class Pattern(Checked[str]):
    """Text of a fixed form, such as a SHA-256 or a date."""

    def __init__(self, pattern: str, sentence: str, **kw: Any):
        self.pattern, self.sentence = re.compile(pattern), sentence
        super().__init__(**kw)

    def accepts(self, value: Any) -> bool:
        return isinstance(value, str) and self.pattern.fullmatch(value) is not None

    def fault(self, value: Any) -> str:
        return self.sentence


class Composite(fields.Nested):
    """A value that only makes sense whole: several parts, one field, one register."""

    def __init__(self, schema: type[Schema], form: str, **kw: Any):
        self.form = form
        super().__init__(schema, allow_none=True, **kw)

    def accepts(self, value: Any) -> bool:
        schema: Any = self.schema
        return bool(schema.accepts(value, partial=False))

    def _deserialize(self, value: Any, attr: Any, data: Any, partial: Any = None, **kw: Any) -> Any:
        # An entry may bring some of a record's fields, but never a part of a whole value.
        return super()._deserialize(value, attr, data, partial=False, **kw)


class PartSchema(CheckedSchema):
    """Base of the parts of a whole value."""

    JSON_RULE: ClassVar[dict[str, Any]] = {}  # what JSON Schema can say of how the parts hang together

    class Meta:
        unknown = RAISE

    error_messages = {"unknown": "This version of Fallbook does not know this part."}

    def on_bind_field(self, field_name: str, field_obj: Any) -> None:
        """Give the part its own sentence for being left out."""
        label = field_obj.metadata.get("label", field_name.capitalize())
        field_obj.error_messages["required"] = f"{label} is missing."


def _never(value: Any) -> bool:
    return False


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
