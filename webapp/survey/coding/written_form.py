"""The compact written form of an observation: written, and read back.

``BAJ B 20 mm at 3``, ``BAB B A 3 mm at 10-2 joint start 1: seen from both sides``. The grammar::

    written  = code [first [second]] *(" " part) [": " remark]
    first    = letters, or "-" where there is only a second; odd ones stand in double quotes
    part     = number [unit]                       first quantity
             | "x" number [unit]                   second quantity
             | "at" hour | "at" hour "-" hour      clock position, clockwise
             | "joint" | "not at joint"
             | "turns" direction                 left, right, up, down, left-up ... right-down
             | "start" n | "change" n | "finish" n
    remark   = the rest of the line; a new line in it is written \\n, a backslash \\\\
"""

import math
import re
from collections.abc import Sequence
from typing import Any, TypedDict, cast

from ..findings import Finding
from ..numbers.decimals import decimal_text
from ..records import ObservationFields
from .code_quantities import SizeField, quantity_for
from .codes import Row, find_code

CODE = re.compile(r"[A-Z]{1,4}[A-Z0-9]{0,4}")
PLAIN = re.compile(r"[A-Z][A-Z0-9]{0,7}")
PIECE = re.compile(r'"(?:[^"\\]|\\.)*"|[^ \t\r\n"]+|"')
NUMBER = re.compile(r"[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+")
GLUED = re.compile(r"([0-9.,]+)([a-z%°]+)")
WORD = re.compile("[A-Za-z%°]+")
SPELLED = {"%": ("%", "percent"), "mm": ("mm",), "degrees": ("degrees", "degree", "deg", "°")}
HOURS = re.compile(r"([0-9]{1,2})(?:-([0-9]{1,2}))?")
ROLES = ("start", "change", "finish")
TURNS = ("left", "right", "up", "down", "left_up", "left_down", "right_up", "right_down")
KEYWORDS = ("x", "at", "joint", "not", "turns", *ROLES)
MAX_CHARACTERS = 4000
MAX_QUANTITY = 100_000  # a quantity, as its field takes it


def compose_code(rows: Sequence[Row], fields: ObservationFields) -> str:
    """Return an observation in its compact written form.

    Returns
    -------
    str
        For example ``BAB B A 3 mm at 10-2 joint``; quantities to 6 decimals; empty without a code.

    Examples
    --------
    >>> compose_code([], {"code": "BAB", "characterisation_2": "A", "clock": {"hour_from": 10, "hour_to": 2}})
    'BAB - A at 10-2'
    """
    code = fields.get("code")
    if not code:
        return ""
    row = find_code(rows, code)
    one, two = fields.get("characterisation_1"), fields.get("characterisation_2")
    parts = [code]
    if one or two:
        parts.append(_quoted(one) if one else "-")
    if two:
        parts.append(_quoted(two))
    leads: dict[SizeField, str] = {"quantification_1": "", "quantification_2": "x "}
    for name, lead in leads.items():
        if (value := fields.get(name)) is not None:
            units = _units(row, name, one)
            unit = f" {units[0]}" if len(units) == 1 and units[0] in SPELLED else ""
            parts.append(f"{lead}{_number_text(value)}{unit}")
    if clock := fields.get("clock"):
        last = clock.get("hour_to")
        parts.append(f"at {clock['hour_from']}" + (f"-{last}" if last is not None else ""))
    if (at_joint := fields.get("at_joint")) is not None:
        parts.append("joint" if at_joint else "not at joint")
    if turns_to := fields.get("turns_to"):
        parts.append(f"turns {turns_to.replace('_', '-')}")
    if continuous := fields.get("continuous"):
        parts.append(f"{continuous['role']} {continuous['number']}")
    remark = fields.get("remark")
    written = " ".join(parts)
    return f"{written}: {_escaped(remark)}" if remark else written


class ReadCode(TypedDict):
    """What a written form says, as far as it could be read, and what could not be."""

    fields: ObservationFields
    faults: list[Finding]


def read_code(rows: Sequence[Row], text: str) -> ReadCode:
    """Return what a compact written form says.

    Returns
    -------
    dict
        ``fields`` of an observation, as far as they could be read; ``faults``, each with ``code``,
        ``field`` and ``values`` for its sentence.

    Examples
    --------
    >>> read_code([], "BAB B A at 10-2")["fields"]["clock"]
    {'hour_from': 10, 'hour_to': 2}
    >>> read_code([], "BAB at 13")["faults"][0]["code"]
    'clock_hour_unknown'
    """
    if len(text) > MAX_CHARACTERS:
        return {"fields": {}, "faults": [_fault("written_too_long", "code", most=MAX_CHARACTERS)]}
    pieces, remark = _pieces(text)
    if not pieces or not CODE.fullmatch(pieces[0]):
        shown = pieces[0] if pieces else "nothing"
        return {"fields": {}, "faults": [_fault("written_code_missing", "code", part=shown)]}
    reading = _Reading(rows, pieces)
    reading.read()
    if remark:
        reading.fields["remark"] = remark
    return {"fields": cast(ObservationFields, reading.fields), "faults": reading.faults}


class _Reading:
    """The pieces of one line on their way into fields."""

    def __init__(self, rows: Sequence[Row], pieces: Sequence[str]) -> None:
        self.pieces = pieces
        self.row = find_code(rows, pieces[0])
        self.fields: dict[str, Any] = {"code": pieces[0]}
        self.faults: list[Finding] = []
        self.at = 1

    def read(self) -> None:
        self._letters()
        while (piece := self._next()) is not None:
            if NUMBER.fullmatch(piece):
                self._quantity("quantification_1", piece)
            elif piece == "x":
                self._quantity("quantification_2", self._next())
            elif piece == "at":
                self._clock(self._next())
            elif piece == "joint":
                self._set("at_joint", True)
            elif piece == "not" and self.pieces[self.at : self.at + 2] == ["at", "joint"]:
                self.at += 2
                self._set("at_joint", False)
            elif piece == "turns":
                self._turns(self._next())
            elif piece in ROLES:
                self._continuous(piece, self._next())
            else:
                self._unreadable("code", piece)

    def _next(self) -> str | None:
        piece = self.pieces[self.at] if self.at < len(self.pieces) else None
        self.at += 1
        return piece

    def _letters(self) -> None:
        for name in ("characterisation_1", "characterisation_2"):
            piece = self.pieces[self.at] if self.at < len(self.pieces) else ""
            if piece == "-" and name == "characterisation_1":
                self.at += 1
            elif PLAIN.fullmatch(piece):
                self.at += 1
                self.fields[name] = piece
            elif len(piece) > 2 and piece[0] == '"' and piece[-1] == '"':
                self.at += 1
                self.fields[name] = _unescaped(piece[1:-1])
            else:
                return

    def _set(self, name: str, value: Any) -> None:
        if name in self.fields:
            self.faults.append(_fault("written_twice", name, part=name.replace("_", " ")))
        else:
            self.fields[name] = value

    def _unreadable(self, name: str, piece: str | None) -> None:
        self.faults.append(_fault("written_unreadable", name, part=piece or "the end of the line"))

    def _quantity(self, name: SizeField, piece: str | None) -> None:
        if piece is None or not NUMBER.fullmatch(piece):
            self._unreadable(name, piece)
            return
        value = float(piece.replace(",", "."))
        units = _units(self.row, name, self.fields.get("characterisation_1"))
        after = self.pieces[self.at] if self.at < len(self.pieces) else ""
        if WORD.fullmatch(after) and after not in KEYWORDS:
            self.at += 1
            if not any(after in SPELLED.get(unit, (unit,)) for unit in units):
                values = {"unit": after, "wanted": units}
                self.faults.append(_fault("written_unit_unexpected", name, **values))
                return
        if value > MAX_QUANTITY:
            self._unreadable(name, piece)
            return
        self._set(name, int(value) if value == math.floor(value) else value)

    def _clock(self, piece: str | None) -> None:
        found = HOURS.fullmatch(piece or "")
        if found is None:
            self._unreadable("clock", piece)
            return
        hours = [int(hour) for hour in found.groups() if hour is not None]
        for hour in hours:
            if not 1 <= hour <= 12:
                self.faults.append(_fault("clock_hour_unknown", "clock", hour=hour))
                return
        self._set("clock", dict(zip(("hour_from", "hour_to"), hours, strict=False)))

    def _turns(self, piece: str | None) -> None:
        direction = (piece or "").replace("-", "_")
        if direction in TURNS:
            self._set("turns_to", direction)
        else:
            self._unreadable("turns_to", piece)

    def _continuous(self, role: str, piece: str | None) -> None:
        if piece is None or not re.fullmatch("[1-9][0-9]{0,2}", piece):
            self._unreadable("continuous", piece)
            return
        self._set("continuous", {"role": role, "number": int(piece)})


def _fault(name: str, where: str, /, **values: Any) -> Finding:
    return {"code": name, "field": where, "values": values}


def _pieces(text: str) -> tuple[list[str], str]:
    """The words before the remark, and the remark."""
    found: list[str] = []
    for match in PIECE.finditer(text):
        piece = match[0]
        if piece[0] != '"' and piece.endswith(":"):
            if len(piece) > 1:
                glued = GLUED.fullmatch(piece[:-1])
                found += [glued[1], glued[2]] if glued else [piece[:-1]]
            return found, _unescaped(_after_space(text[match.end() :]))
        if piece[0] == '"' and text[match.end() : match.end() + 1] == ":":
            return [*found, piece], _unescaped(_after_space(text[match.end() + 1 :]))
        glued = GLUED.fullmatch(piece)
        found += [glued[1], glued[2]] if glued else [piece]
    return found, ""


def _after_space(text: str) -> str:
    return text[1:] if text[:1] == " " else text


def _units(row: Row | None, name: SizeField, characterisation_1: Any) -> list[str]:
    """Units that a quantity may be in; a number of things has none."""
    quantity = quantity_for(row, name, characterisation_1) if row else None
    text = str(quantity["unit"]).removesuffix(" by type") if quantity else "count"
    return [] if text == "count" else text.split(" or ")


def _number_text(value: float) -> str:
    text = decimal_text(value, 6)
    return text.rstrip("0").rstrip(".")


def _quoted(text: str) -> str:
    if PLAIN.fullmatch(text):
        return text
    return '"' + _escaped(text).replace('"', '\\"') + '"'


def _escaped(text: str) -> str:
    return text.replace("\\", "\\\\").replace("\n", "\\n").replace("\r", "\\r")


def _unescaped(text: str) -> str:
    plain = {"n": "\n", "r": "\r"}
    return re.sub(r"\\(.)", lambda m: plain.get(m[1], m[1]), text)
