"""Numbers in the cells of a table: which mark is the decimal one, and what groups thousands."""

import re
from collections.abc import Iterable, Mapping

from ..errors import SurveyError

MAX_CHARACTERS = 60  # of a cell that can be a number
SPACES = re.compile("[\u00a0\u1680\u2000-\u200a\u202f\u205f\u3000]")
NUMERIC = re.compile(r"[<>+~-]{0,2} ?[0-9.,][0-9.,:/' -]* ?[^0-9 ]{0,7}")
ONE_NUMBER = re.compile(r"[<>+\-~=()a-z ]{0,14}(?:1 ?(?:in|:|/) ?)?([0-9.,]+)[^0-9.,]{0,14}")
IN_ROW = {mark: rf"[1-9][0-9]{{0,2}}(?:{re.escape(mark)}[0-9]{{3}})+" for mark in (",", ".", " ", "'", "’")}
WHOLE = {mark: re.compile(text) for mark, text in IN_ROW.items()}
WITHIN = {mark: re.compile(rf"(?<![0-9.,]){text}(?![0-9])") for mark, text in IN_ROW.items()}
OTHER = {",": ".", ".": ","}

Marks = dict[str, int]


def is_long(text: str) -> bool:
    """Return whether a text is too long for a number.

    >>> is_long("12,5 m")
    False
    """
    return len(text) > MAX_CHARACTERS


def plain_cell(cell: str) -> str:
    """Return a cell in small letters, its spaces and minus as on a keyboard, thousands not parted by them.

    >>> plain_cell("−1\\u202f234,5 MM")
    '-1234,5 mm'
    """
    text = SPACES.sub(" ", cell).lower().replace("−", "-")
    for mark in (" ", "'", "’"):
        text = _ungrouped(text, mark)
    return text


def _ungrouped(text: str, mark: str) -> str:
    if mark not in text or is_long(text):
        return text
    return WITHIN[mark].sub(lambda found: found[0].replace(mark, ""), text)


def count_marks(cells: Iterable[str]) -> Marks:
    """Return how many cells show by themselves which mark is the decimal one.

    Returns
    -------
    dict
        ``comma`` and ``point``, cells in which that mark can only be the decimal one; ``comma_groups`` and
        ``point_groups``, those in which it can only part thousands; ``comma_either`` and
        ``point_either``, those that can be read both ways, such as 1,234.

    Examples
    --------
    >>> found = count_marks(["1,5", "1.234,5", "1,234", "29.11.2026"])
    >>> found["comma"], found["point_groups"], found["comma_either"], found["point"]
    (2, 1, 1, 0)
    """
    found = {
        "comma": 0, "point": 0, "comma_groups": 0, "point_groups": 0, "comma_either": 0, "point_either": 0
    }  # fmt: skip
    for cell in cells:
        if not is_long(cell) and ("," in cell or "." in cell):
            one = ONE_NUMBER.fullmatch(plain_cell(cell))
            for name in _shown_by(one[1]) if one else ():
                found[name] += 1
    return found


def _shown_by(number: str) -> tuple[str, ...]:
    """Return what one number says of its marks."""
    commas, points = number.count(","), number.count(".")
    names = {",": "comma", ".": "point"}
    if commas and points:
        last = "," if number.rfind(",") > number.rfind(".") else "."
        head = number[: number.rfind(last)]
        if number.count(last) == 1 and WHOLE[OTHER[last]].fullmatch(head):
            return names[last], f"{names[OTHER[last]]}_groups"
        return ()
    if not commas and not points:
        return ()
    mark = "," if commas else "."
    grouped = WHOLE[mark].fullmatch(number)
    if commas + points > 1:
        return (names[OTHER[mark]], f"{names[mark]}_groups") if grouped else ()
    return (f"{names[mark]}_either" if grouped else names[mark],)


def find_decimal(chosen: Mapping[str, int], all_over: Mapping[str, int], separator: str) -> str | None:
    """Return the decimal mark of the columns that are read.

    Parameters
    ----------
    chosen, all_over : mapping
        ``count_marks`` of the columns that are read, and of the whole file.

    Returns
    -------
    str or None
        ``,`` or ``.``; None where the file can be read both ways.

    Examples
    --------
    >>> nothing = count_marks([])
    >>> find_decimal(count_marks(["1,234"]), nothing, ";") is None
    True
    >>> find_decimal(count_marks(["1,234", "0,5"]), nothing, ";")
    ','
    """
    if chosen["comma"] != chosen["point"]:
        return "," if chosen["comma"] > chosen["point"] else "."
    either = {",": chosen["comma_either"], ".": chosen["point_either"]}
    if chosen["comma"] or (either[","] and either["."]):
        return None
    for mark, name, other in ((",", "comma", "point"), (".", "point", "comma")):
        if all_over[name] and not all_over[other]:
            return None if either[OTHER[mark]] else mark
    if separator == "," and not either[","]:
        return "."  # commas part the cells, so points part no thousands
    return None if either[","] or either["."] else "."


def grouping_of(decimal: str, chosen: Mapping[str, int], stated: bool) -> str:
    """Return the mark that parts thousands beside a decimal mark, or nothing where no cell shows it.

    Parameters
    ----------
    decimal : str
        ``,`` or ``.``.
    chosen : mapping
        ``count_marks`` of the columns that are read.

    Examples
    --------
    >>> grouping_of(".", count_marks(["1,234.5", "2.5"]), False)
    ','
    >>> grouping_of(".", count_marks(["1,234", "2.5"]), False)
    ''
    """
    other = "point" if decimal == "," else "comma"
    return OTHER[decimal] if chosen[f"{other}_groups"] or (stated and not chosen[other]) else ""


def plain_number(cell: str, decimal: str, grouping: str) -> str:
    """Return a cell whose number has no groups and no other mark than the decimal one.

    Raises
    ------
    SurveyError
        ``csv_decimal`` if it has another mark than the file.

    Examples
    --------
    >>> plain_number("1.234,5 m", ",", ".")
    '1234,5 m'
    """
    text = plain_cell(cell)
    if grouping:
        text = _ungrouped(text, grouping)
    if re.search(rf"[0-9]{re.escape(OTHER[decimal])}[0-9]", text):
        raise SurveyError("csv_decimal", "cell")
    return text
