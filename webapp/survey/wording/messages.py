"""A sentence filled from its template, the same to the letter on server and phone."""

import functools
import re
from collections.abc import Iterable, Mapping
from typing import Any, Protocol

from ..errors import SurveyError
from ..numbers.decimals import MINUS

Words = Mapping[str, Any]  # a template by key, or templates by plural category
Value = str | int
PLACE = re.compile(r"\{([a-z][a-z0-9_]*)(?::(lower|inline))?\}")
COUNT = "n"  # its plural category chooses among templates; it is grouped as the language does
MAX_WHOLE = 2**53 - 1
LATIN = "latn"
NOTHING: Mapping[str, Value] = {}


class _Plural(Protocol):
    def __call__(self, n: int) -> str: ...


def message(words: Words, key: str, values: Mapping[str, Value] = NOTHING) -> str:
    """Return the sentence of ``key`` with each ``{name}`` replaced by the value of that name.

    ``{name:lower}`` puts the value in lower case, ``{name:inline}`` its first letter, where the language
    writes it so within a sentence.
    Where the template is an object, the count ``n`` chooses by CLDR's plural categories for ``_language``;
    ``other`` serves for a category that the object lacks.

    Parameters
    ----------
    words : mapping
        The catalogue: templates by key, ``_language`` and, where numbers and dates follow a country,
        ``_locale``.
    key : str
        Section and name, such as ``water.backfall``.
    values : mapping
        Text or whole numbers by name. Other numbers come as text from ``decimals``, by way of
        ``number_text``.

    Returns
    -------
    str
        The sentence. What a value holds is not looked at for further names.

    Raises
    ------
    SurveyError
        ``message_unknown`` for a key that the catalogue lacks, ``message_value_missing`` for a name without a
        value, ``message_value_type`` for one that is neither text nor a whole number, or for a count
        below zero.

    References
    ----------
    Plural categories: Unicode CLDR.

    Examples
    --------
    >>> words = {"_language": "en", "photo.count": {"one": "{n} photo", "other": "{n} photos"}}
    >>> message(words, "photo.count", {"n": 1}), message(words, "photo.count", {"n": 1200})
    ('1 photo', '1,200 photos')
    """
    template = words.get(key)
    if isinstance(template, Mapping):
        category = _category(words, values)
        template = template[category] if category in template else template.get("other")
    if not isinstance(template, str) or key.startswith("_"):
        raise SurveyError("message_unknown", key)

    def put(place: re.Match[str]) -> str:
        text = _text(words, values, place[1])
        if place[2] == "inline":
            return text[:1].lower() + text[1:]
        return text.lower() if place[2] else text

    return PLACE.sub(put, template)


def listed(words: Words, items: Iterable[str]) -> str:
    """Return a list in one line: a, b, c."""
    return _joined(words, "comma", items)


def clauses(words: Words, items: Iterable[str]) -> str:
    """Return clauses that stand beside each other in one line: a; b; c."""
    return _joined(words, "semicolon", items)


def sentences(words: Words, items: Iterable[str]) -> str:
    """Return whole sentences one after the other, those left out that are empty."""
    return _joined(words, "sentence", filter(None, items))


def apart(words: Words, items: Iterable[str]) -> str:
    """Return facts that stand on their own in one line, those left out that are empty: a · b · c."""
    return _joined(words, "apart", filter(None, items))


def choice(words: Words, items: Iterable[str]) -> str:
    """Return the members of a choice in one line: a or b or c."""
    return _joined(words, "or", items)


def _joined(words: Words, sign: str, items: Iterable[str]) -> str:
    first, *more = [*items] or [""]
    for one in more:
        first = message(words, f"survey.list.{sign}", {"first": first, "next": one})
    return first


def number_text(words: Words, text: str) -> str:
    """Return a number as a reader writes it: with the decimal mark of the language, and a true minus.

    Parameters
    ----------
    words : mapping
        The catalogue.
    text : str
        Digits with at most one point, and a hyphen or a minus before them.

    Returns
    -------
    str
        The same number.

    References
    ----------
    Decimal marks: Unicode CLDR.

    Examples
    --------
    >>> number_text({"_language": "de"}, "-0.25"), number_text({"_language": "en"}, "−0.25")
    ('−0,25', '−0.25')
    """
    text = text.replace("-", MINUS)
    return text.replace(".", _decimal_mark(_locale(words))) if "." in text else text


def _text(words: Words, values: Mapping[str, Value], name: str) -> str:
    value = values.get(name)
    if value is None:
        raise SurveyError("message_value_missing", name)
    if isinstance(value, str):
        return value
    return _grouped(_locale(words), _count(value)) if name == COUNT else str(_whole(value, name))


def _whole(value: object, name: str) -> int:
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    if isinstance(value, bool) or not isinstance(value, int) or abs(value) > MAX_WHOLE:
        raise SurveyError("message_value_type", name)
    return value


def _count(value: object) -> int:
    count = _whole(value, COUNT)
    if count < 0:
        raise SurveyError("message_value_type", COUNT)
    return count


def _category(words: Words, values: Mapping[str, Value]) -> str:
    count = values.get(COUNT)
    if count is None:
        raise SurveyError("message_value_missing", COUNT)
    return _plural(str(words.get("_language")))(_count(count))


def _locale(words: Words) -> str:
    return str(words.get("_locale") or words.get("_language"))


@functools.cache
def _plural(language: str) -> _Plural:
    from babel.core import Locale  # loaded where the first count or decimal mark is wanted

    return Locale.parse(language, sep="-").plural_form


@functools.cache
def _decimal_mark(locale: str) -> str:
    from babel.core import Locale
    from babel.numbers import get_decimal_symbol

    return get_decimal_symbol(Locale.parse(locale, sep="-"), numbering_system=LATIN)


@functools.cache
def _grouping(locale: str) -> tuple[str, int, int]:
    from babel.core import Locale
    from babel.numbers import get_group_symbol

    found = Locale.parse(locale, sep="-")
    first, further = found.decimal_formats[None].grouping
    return get_group_symbol(found, numbering_system=LATIN), first, further


def _grouped(locale: str, count: int) -> str:
    """Group by hand: Babel's own format takes the apostrophe of Switzerland for a quotation mark."""
    mark, size, further = _grouping(locale)
    rest = str(count)
    groups: list[str] = []
    while len(rest) > size:
        rest, groups, size = rest[:-size], [rest[-size:], *groups], further
    return mark.join([rest, *groups])
