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

from ..messages import general, listed, t
from .words import KindWord, name_field, number_refused

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

    KIND: ClassVar[str] = ""
    LABEL = KindWord("one")
    PLURAL = KindWord("many")
    # Fields that a form and the pack place by hand; None where all follow from their descriptions.
    PLACED: ClassVar[frozenset[str] | None] = None

    removed = Truth(metadata={"type": "flag", "hidden": True})

    def __init__(self, **settings: Any) -> None:
        super().__init__(**settings)
        self.error_messages["unknown"] = t("refused.unknown_field")

    def on_bind_field(self, field_name: str, field_obj: Any) -> None:
        """Give the field its words; that of the removal has the same in every kind."""
        if field_name == "removed":
            field_obj.metadata = {"label": t("field.removed.label"), **field_obj.metadata}
            field_obj.error_messages["invalid"] = t("field.removed.form")
        else:
            name_field(self.KIND, field_name, field_obj)


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


class PartSchema(CheckedSchema):
    """Base of the parts of a whole value."""

    JSON_RULE: ClassVar[dict[str, Any]] = {}  # what JSON Schema can say of how the parts hang together

    class Meta:
        unknown = RAISE

    def __init__(self, **settings: Any) -> None:
        super().__init__(**settings)
        self.error_messages["unknown"] = t("refused.unknown_part")

    def on_bind_field(self, field_name: str, field_obj: Any) -> None:
        """Give the part its words, and its own sentence for being left out; null leaves it out as well."""
        owner = _snake(type(self).__name__)
        name_field(owner, field_name, field_obj)
        if field_obj.required:
            field_obj.allow_none = False
            label = field_obj.metadata.get("label")
            missing = t("refused.missing", label=label) if label else t(f"field.{owner}.{field_name}.missing")
            field_obj.error_messages["required"] = field_obj.error_messages["null"] = missing


def _snake(name: str) -> str:
    return re.sub(r"(?<!^)(?=[A-Z])", "_", name).lower()


def _never(value: Any) -> bool:
    return False


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
