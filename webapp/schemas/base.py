"""Field types of the records.  Every field knows its label, unit, range and plain sentences.

A rule stands once, as ``accepts``: hundreds of thousands of values are asked of it in a sync.  What it turns
down goes to marshmallow, which words the reason (:meth:`Checked.fault`).

Everything the phone's forms show is read from here by :mod:`webapp.schemas.describe`.
"""

import math
import re
from collections.abc import Mapping, Sequence
from typing import Any, TypeVar

from marshmallow import Schema, ValidationError, fields, validate

from ..messages import general, listed, t
from .words import number_refused

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


class OneOf(validate.OneOf):
    """A closed list inside a whole value."""

    def _format_error(self, value: Any) -> str:
        return t("refused.one_of", choices=self.choices_text)


class Word(fields.String):
    """One word of a closed list inside a whole value, never cleared."""

    def __init__(self, words: Sequence[str], called: str = "", **kw: Any):
        self.words, self.called = tuple(words), called  # the name of the list, where several fields share it
        self._words = frozenset(words)
        super().__init__(validate=OneOf(words), **kw)

    def accepts(self, value: Any) -> bool:
        """Say whether a value is good without doubt."""
        return type(value) is str and value in self._words


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
            return number_refused("number", label, self.unit)
        if self.whole and value != int(value):
            return number_refused("whole_number", label, self.unit)
        return range_sentence(label, self.minimum, self.maximum, self.unit)


def part_of_counter() -> Number:
    """Return the field that says in which part of a counter that was reset a place was read.

    1 before the first reset, 2 after it, and so on; empty: by the order of recording.
    """
    return Number(1, 100, "", whole=True, metadata=meta(type="counter_part"))


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
            return t("refused.text", label=label)
        if len(value) > self.longest:
            return t("refused.text_long", label=label, most=self.longest)
        return t("refused.text_unprintable", label=label)


class Choice(Checked[str]):
    """One of a closed list; the list is part of the field."""

    def __init__(self, choices: Mapping[str, str], **kw: Any):
        self.choices = choices
        super().__init__(**kw)

    def accepts(self, value: Any) -> bool:
        return isinstance(value, str) and value in self.choices

    def fault(self, value: Any) -> str:
        return t("refused.choice", label=self.metadata["label"], choices=listed(self.choices.values()))


class Flag(Checked[bool]):
    """Yes or no."""

    def accepts(self, value: Any) -> bool:
        return value is True or value is False

    def fault(self, value: Any) -> str:
        return t("refused.flag", label=self.metadata["label"])


class Ref(Checked[str]):
    """The id of another record (a UUID in its usual lower-case spelling)."""

    def __init__(self, to: str, **kw: Any):
        self.to = to
        super().__init__(**kw)

    def accepts(self, value: Any) -> bool:
        return is_uuid(value)

    def fault(self, value: Any) -> str:
        return t("refused.reference", label=self.metadata["label"])


class Pattern(Checked[str]):
    """Text of a fixed form, such as a SHA-256 or a date."""

    sentence = ""  # how it must look; a schema gives it

    def __init__(self, pattern: str, **kw: Any):
        self.pattern = re.compile(pattern)
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


def _finite(value: float) -> bool:
    try:
        return math.isfinite(value)
    except OverflowError:  # a whole number of hundreds of digits
        return False


def range_sentence(label: str, minimum: float, maximum: float, unit: str) -> str:
    """Return the sentence shown for a number out of range."""
    return number_refused("range", label, unit, minimum=general(minimum), maximum=general(maximum))


def is_uuid(value: Any) -> bool:
    """Say whether ``value`` is a UUID in its usual lower-case spelling."""
    return isinstance(value, str) and UUID.fullmatch(value) is not None


def meta(**more: Any) -> dict[str, Any]:
    """Return the metadata of a field, such as required, advanced, hidden; its words are in the catalogue."""
    return more
