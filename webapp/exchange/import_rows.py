"""Rows of one inspection -> observations, changes of pipe and, where a row is bad, remarks."""

import re
from collections import Counter
from typing import Any

from .. import tables
from ..messages import general, t
from ..survey.coding import codes
from . import headers
from .export_rows import ROLES
from .further import split_further
from .import_header import Placed
from .import_pipes import Pipes
from .job_builder import JobBuilder
from .parser import Parsed, Row
from .text import read_number

MARKER = re.compile(r"([ABC])0*([1-9][0-9]{0,2})")
ROLE_OF = {letter: role for role, letter in ROLES.items()}
FURTHEST_M = 5_000.0
MAX_REMARK = 3_900
PLACED_COLUMNS = frozenset("ABCDEFGHIJK")
Fields = dict[str, Any]


class BadRow(Exception):
    """A row that cannot be an observation, with its reason."""


def place_rows(made: JobBuilder, parsed: Parsed, placed: Placed) -> None:
    """Make the records of all rows of an inspection."""
    Rows(made, parsed, placed).place()


class Rows:
    """The rows of one run on their way into records."""

    def __init__(self, made: JobBuilder, parsed: Parsed, placed: Placed) -> None:
        self.made, self.parsed, self.placed = made, parsed, placed
        self.zero_m = 0.0
        self.kept_columns: Counter[str] = Counter()

    def place(self) -> None:
        """Make the records."""
        self._find_zero()
        pipes = Pipes(self.made, self.placed, self.parsed.rows, self.zero_m)
        changes = pipes.find()
        self.kept_columns.update(pipes.kept_columns)
        for row in self.parsed.rows:
            if row.line in changes:
                continue
            try:
                self._observation(row)
            except BadRow as reason:
                self._bad(row, str(reason))
        pipes.keep()
        self._tell_columns()

    def _find_zero(self) -> None:
        """A counter never shows less than zero: with places before the datum it must begin higher."""
        places = [read_number(row.cells.get("I", "")) for row in self.parsed.rows if not row.fault]
        least_m = min((p for p in places if p is not None), default=0.0)
        if -FURTHEST_M <= least_m < 0:
            self.zero_m = -least_m
            what = t("exchange.zero_taken", run=f"{self.placed.ref!r}", zero_m=general(self.zero_m))
            self.made.note(self.parsed.line, "assumed", what, t("exchange.before_datum"))
        self.placed.run["counter_zero_m"] = self.zero_m

    def _counter_m(self, row: Row) -> float:
        text = row.cells.get("I", "")
        at_m = read_number(text)
        if at_m is None:
            raise BadRow(
                t("exchange.distance_no_number", distance=f"{text[:40]!r}")
                if text
                else t("exchange.no_distance")
            )
        counter_m = round(at_m + self.zero_m, 6)
        if not 0 <= counter_m <= FURTHEST_M:
            raise BadRow(t("exchange.distance_too_far", distance=text[:40], most_m=general(FURTHEST_M)))
        return counter_m

    def _bad(self, row: Row, reason: str) -> None:
        text = t("exchange.row_kept", reason=reason, row=row.raw.strip())
        fields: Fields = {"run_id": self.placed.run_id, "text": text[:MAX_REMARK]}
        try:
            fields["counter_m"] = self._counter_m(row) if not row.fault else None
        except BadRow:
            fields["counter_m"] = None
        if fields["counter_m"] is None:
            del fields["counter_m"]
        self.made.add("remark", fields)
        self.made.note(row.line, "remark", repr(row.raw.strip()[:200]), reason)

    def _observation(self, row: Row) -> None:
        if row.fault:
            raise BadRow(row.fault)
        counter_m = self._counter_m(row)
        code = row.cells.get("A", "")
        if not code:
            raise BadRow(t("exchange.no_code"))
        fields: Fields = {"run_id": self.placed.run_id, "counter_m": counter_m, "code": code}
        left = {c: v for c, v in row.cells.items() if c not in PLACED_COLUMNS}
        self.kept_columns.update(left.keys())
        self._texts(row, fields, left)
        self._quantities(row, fields)
        self._clock(row, fields)
        self._markers(row, fields, left)
        if why := self.made.fault("observation", fields):
            raise BadRow(why)
        self._tell_unknown(row.line, fields)
        record_id = self.made.add("observation", fields)
        self.made.keep_beside(record_id, self.placed.run_id, left, counter_m)
        self._ends(code, counter_m)

    def _texts(self, row: Row, fields: Fields, left: dict[str, str]) -> None:
        remark, further = split_further(row.cells.get("F", ""))
        fields.update(further)
        cells = {**row.cells, "F": remark}
        for column, name in (("B", "characterisation_1"), ("C", "characterisation_2"), ("F", "remark")):
            if not (value := cells.get(column)):
                continue
            if why := self.made.fault("observation", {name: value}):
                left[column] = value
                self.made.note(
                    row.line, "kept", t("exchange.column_is", column=column, value=f"{value[:80]!r}"), why
                )
            else:
                fields[name] = value

    def _quantities(self, row: Row, fields: Fields) -> None:
        for column, name in (("D", "quantification_1"), ("E", "quantification_2")):
            if text := row.cells.get(column):
                value = read_number(text)
                if value is None:
                    raise BadRow(t("exchange.quantity_no_number", quantity=f"{text[:40]!r}"))
                fields[name] = value

    def _clock(self, row: Row, fields: Fields) -> None:
        hours = []
        for column in ("G", "H"):
            text = row.cells.get(column, "")
            value = read_number(text) if text else None
            if text and (value is None or value not in range(1, 13)):
                raise BadRow(t("exchange.clock_no_hour", text=f"{text[:40]!r}"))
            hours.append(value)
        if hours[0] is None and hours[1] is not None:
            raise BadRow(t("exchange.clock_not_begun"))
        if hours[0] is not None:
            fields["clock"] = {"hour_from": hours[0]}
            if hours[1] is not None:
                fields["clock"]["hour_to"] = hours[1]

    def _markers(self, row: Row, fields: Fields, left: dict[str, str]) -> None:
        if text := row.cells.get("J"):
            if match := MARKER.fullmatch(text):
                fields["continuous"] = {"role": ROLE_OF[match[1]], "number": int(match[2])}
            else:
                left["J"] = text
                self.made.note(
                    row.line,
                    "kept",
                    t("exchange.column_is_j", value=f"{text[:80]!r}"),
                    t("exchange.no_marker"),
                )
        if text := row.cells.get("K"):
            if text == "A":
                fields["at_joint"] = True
            else:
                left["K"] = text
                self.made.note(
                    row.line,
                    "kept",
                    t("exchange.column_is_k", value=f"{text[:80]!r}"),
                    t("exchange.only_at_joint"),
                )

    def _tell_unknown(self, line: int, fields: Fields) -> None:
        code = fields["code"]
        known = codes.find_code(tables.load("observation_codes")["rows"], code)
        if known is None:
            if code not in headers.changes():
                self.made.note(line, "kept", t("exchange.code", code=code), t("exchange.perhaps_own"))
            return
        for name in ("characterisation_1", "characterisation_2"):
            value = fields.get(name)
            if value and value not in [c["value"] for c in known[name]]:
                self.made.note(
                    line,
                    "kept",
                    t(f"exchange.letter_of.{name}", value=value, code=code),
                    t("exchange.not_in_table"),
                )

    def _ends(self, code: str, counter_m: float) -> None:
        """A finish node, or an abandoned run, says where the run ended."""
        if code in ("BCE", "BDC"):
            self.placed.run["end_counter_m"] = counter_m
        if code == "BCE":
            self.placed.run["end_reason"] = "node_reached"

    def _tell_columns(self) -> None:
        for column, number in sorted(self.kept_columns.items()):
            rows = t("exchange.column_of_rows", column=column, n=number, run=repr(self.placed.ref))
            why = {
                "M": t("exchange.photo_names"),
                "N": t("exchange.video_places"),
            }.get(
                column,
                t("exchange.no_field") if column in headers.known_columns() else t("exchange.not_known"),
            )
            self.made.note(self.parsed.line, "kept", rows, why)
