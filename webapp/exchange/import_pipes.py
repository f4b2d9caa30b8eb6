"""The pipe of the header, and the rows that say that it changes -> stretches."""

from collections.abc import Iterable
from typing import Any

from . import headers
from .import_header import Placed
from .job_builder import JobBuilder
from .parser import Row
from .text import read_number

Fields = dict[str, Any]
PIPE_FIELDS = {
    headers.SHAPE: ("shape", "height_mm", "width_mm"),
    headers.MATERIAL: ("material",),
    headers.UNIT_LENGTH: ("pipe_unit_length_m",),
}


class Pipes:
    """The stretches of one run in the making."""

    def __init__(self, made: JobBuilder, placed: Placed, rows: Iterable[Row], zero_m: float) -> None:
        self.made, self.placed, self.rows, self.zero_m = made, placed, rows, zero_m
        self.run_id = placed.run_id
        self.kept_columns: list[str] = []  # of the rows that became a stretch
        self.found: list[tuple[Fields, dict[str, str], str]] = []  # fields, kept beside, last change code
        self.taken: set[int] = set()

    def find(self) -> set[int]:
        """Return the lines of the rows that become a stretch."""
        begin = {"run_id": self.run_id, "from_counter_m": 0.0, **self.placed.pipe}
        self.found.append((begin, {}, headers.UNIT_LENGTH + "~"))
        for counter_m, row in sorted(self._changes(), key=lambda one: one[0]):
            self._change(counter_m, row)
        return self.taken

    def _changes(self) -> list[tuple[float, Row]]:
        found = []
        for row in self.rows:
            at_m = read_number(row.cells.get("I", ""))
            if row.cells.get("A") in PIPE_FIELDS and not row.fault and at_m is not None:
                found.append((round(at_m + self.zero_m, 6), row))
        return found

    def _change(self, counter_m: float, row: Row) -> None:
        """A row that cannot be read as a change, or changes nothing, stays an observation."""
        code = row.cells["A"]
        stated = self._stated(code, row)
        before, beside, last = self.found[-1]
        if stated is None or all(stated.get(name) == before.get(name) for name in PIPE_FIELDS[code]):
            return
        places = headers.CHANGE_PLACES[code]
        more = {f"{code}-{c}": v for c, v in row.cells.items() if c not in (*places, "A", "I")}
        if self.made.fault("stretch", {"from_counter_m": counter_m}):
            return
        pipe = {n: v for n, v in before.items() if n not in PIPE_FIELDS[code]}
        if before["from_counter_m"] == counter_m and code > last and len(self.found) > 1:
            self.found[-1] = ({**pipe, **stated}, {**beside, **more}, code)
        else:
            self.found.append(({**pipe, **stated, "from_counter_m": counter_m}, more, code))
        self.kept_columns += [k.partition("-")[2] for k in more]
        self.taken.add(row.line)

    def _stated(self, code: str, row: Row) -> Fields | None:
        """What a row says of the pipe; None if it says something that no field can hold."""
        cells = [row.cells.get(place, "") for place in headers.CHANGE_PLACES[code]]
        fields: Fields = {}
        for name, text in zip(PIPE_FIELDS[code], cells, strict=True):
            if not text:
                continue
            value: Any = read_number(text)
            if name in ("shape", "material"):
                value = headers.value_of("ACA" if name == "shape" else "ACD", text)
            elif name == "pipe_unit_length_m" and value is not None:
                value = round(value * 0.001, 9)
            if value is None or self.made.fault("stretch", {name: value}):
                return None
            fields[name] = value
        if fields.get("shape") == "circular" and fields.get("width_mm") == fields.get("height_mm"):
            fields.pop("width_mm", None)
        elif fields.get("shape") == "circular" and "width_mm" not in fields:
            return None  # a round pipe states its size twice
        return fields

    def keep(self) -> None:
        """Make the records, once it is known where the run ends."""
        if not self.taken and not self.placed.pipe:
            return
        ends = [after[0]["from_counter_m"] for after in self.found[1:]]
        ends.append(self.placed.run.get("end_counter_m"))
        for (fields, beside, _), end_m in zip(self.found, ends, strict=True):
            if end_m is not None and end_m > fields["from_counter_m"]:
                fields["to_counter_m"] = end_m
            record_id = self.made.add("stretch", fields)
            self.made.keep_beside(record_id, self.run_id, beside, fields["from_counter_m"])
