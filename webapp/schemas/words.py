"""What the schemas say to people: the words of kinds, fields and choices, from the catalogue.

::

    kind.<kind>.one, .many                    what a record is called, and several
    field.<kind>.<name>.label, .help, .form   a field; the form says how a text must look
    choice.<list>.<value>                     one of a closed list
    refused.*                                 why a value was refused
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from ..messages import messages, t, unit_word


class KindWord:
    """What one record of a kind is called, or several."""

    def __init__(self, form: str) -> None:
        self.form = form

    def __get__(self, instance: Any, owner: Any) -> str:
        return t(f"kind.{owner.KIND}.{self.form}")


class Choices(Mapping[str, str]):
    """The values of a closed list, each with its label."""

    def __init__(self, stem: str, values: Sequence[str]) -> None:
        self.stem, self._values = stem, dict.fromkeys(values)

    def __getitem__(self, value: str) -> str:
        if value not in self._values:
            raise KeyError(value)
        return t(f"choice.{self.stem}.{value}".lower())

    def __contains__(self, value: object) -> bool:
        return value in self._values

    def __iter__(self) -> Iterator[str]:
        return iter(self._values)

    def __len__(self) -> int:
        return len(self._values)


def name_field(owner: str, name: str, field: Any) -> None:
    """Give a field that a schema takes over its words: its label, its help, its group, its form."""
    keys = {"label": f"field.{owner}.{name}.label", "help": f"field.{owner}.{name}.help"}
    words = {part: t(key) for part, key in keys.items() if key in messages()}
    if group := field.metadata.get("group"):
        words["group"] = t(f"field.group.{group}")
    field.metadata = {**words, **field.metadata, **words}
    if hasattr(field, "pattern"):
        field.sentence = t(f"field.{owner}.{name}.form")


def number_refused(rule: str, label: str, unit: str, **values: str) -> str:
    """Return why a number was refused, with its unit where it has one."""
    if unit:
        return t(f"refused.{rule}_unit", label=label, unit=unit_word(unit), **values)
    return t(f"refused.{rule}", label=label, **values)
