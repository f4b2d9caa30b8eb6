"""Objects that cross the wire: whole records, and values of several parts, each field by its own rule."""

import functools
import re
from collections.abc import Callable
from typing import Any, ClassVar

from marshmallow import RAISE, Schema, ValidationError, validates_schema

from ..messages import t
from .base import Truth
from .words import KindWord, name_field


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
