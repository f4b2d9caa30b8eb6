"""Values of fields in words, for what a pack says of a record: facts, checks, what is in dispute."""

from collections.abc import Mapping
from typing import Any

from .. import tables
from ..dates import day_text
from ..messages import stamp_text
from ..records import canonical
from ..schemas import described
from ..survey.errors import SurveyError
from ..survey.wording.messages import Words, clauses, message
from ..survey.wording.next_steps import chosen_words
from ..survey.wording.recorded import FieldWords, value_text


def field_value(words: Words, field: FieldWords, value: Any, names: Mapping[str, str]) -> str:
    """Return a value as a person reads it; ``names`` of the records that it may refer to."""
    if isinstance(value, str) and value:
        match field["type"]:
            case "date":
                return day_text(words, value)
            case "time":
                return stamp_text(words, value)
            case "ref":
                return names.get(value) or message(words, "pack.nameless", {})
    if field["type"] == "next_steps" and isinstance(value, dict):
        return clauses(words, chosen_words(words, value, tables.load("actions")))
    try:
        return value_text(words, field, value)
    except SurveyError:  # half a composite of an earlier version: shown as it stands
        return canonical.dumps(value)


def value_in_record(words: Words, kind: str, name: str, value: Any, names: Mapping[str, str]) -> str:
    """Return the value of a field of a kind of record as a person reads it."""
    plain: FieldWords = {"type": "text"}
    return field_value(words, described(kind).get(name, plain), value, names)
