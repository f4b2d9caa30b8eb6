"""Header values of one inspection -> job, nodes, run and first stretch; the rest is kept as given."""

from typing import Any

from .. import tables
from ..messages import t
from . import headers
from .export_records import CONSTANTS, DEPTH_CODES
from .job_builder import JobBuilder
from .model import Note
from .parser import Parsed
from .text import read_number

NUMBERS = {"ABQ": 1.0, "ACB": 1.0, "ACC": 1.0, "ACG": 0.001, "ACH": 1.0, "ACI": 1.0}


class Placed:
    """A run made from a header, and the pipe that it begins with."""

    def __init__(self, run_id: str, run: dict[str, Any], pipe: dict[str, Any]) -> None:
        self.run_id, self.run, self.pipe = run_id, run, pipe
        self.ref = str(run["run_ref"])


class Header:
    """One inspection's header on its way into records."""

    def __init__(self, made: JobBuilder, parsed: Parsed, number: int) -> None:
        self.made, self.parsed, self.number = made, parsed, number
        self.given = {c: v for c, v in parsed.header.items() if v}
        self.left = dict(self.given)  # what has not found a field yet
        self.owners: dict[str, dict[str, Any]] = {"job": {}, "run": {}, "stretch": {}}
        self.run_id = ""

    def place(self) -> Placed:
        """Make the records and return the run."""
        made = self.made
        self._constants()
        self._reference()
        self.run_id = made.add("run", self.owners["run"])
        self._nodes()
        for code, row in headers.rows().items():
            if code in self.left and row["use"] == "mapped" and code not in ("AAA", "AAB", "AAD", "AAF"):
                self._value(code, row["field"])
        self._weather()
        self._width()
        self._depths()
        self._job()
        return Placed(self.run_id, self.owners["run"], self.owners["stretch"])

    def _line(self, code: str) -> int:
        return self.parsed.header_lines.get(code, self.parsed.line)

    def _note(self, code: str, outcome: str, what: str, why: str) -> None:
        self.made.notes.append(Note(self._line(code), outcome, what, why))

    def _constants(self) -> None:
        """Those that are written anyway need not be kept; a header without them must not gain them."""
        standard = str(tables.load("observation_codes")["standard"])
        for code, usual in {**CONSTANTS, "ABA": standard}.items():
            if self.given.get(code) == usual:
                del self.left[code]
            elif code not in self.given:
                self.left[code] = ""

    def _reference(self) -> None:
        given = self.given.get("AAA", "")
        made_up = t("exchange.inspection", number=self.number)
        ref, why = self.made.fitting("run", "run_ref", given or made_up)
        self.owners["run"]["run_ref"] = ref
        if given and why:
            self._note(
                "AAA",
                "changed",
                t("exchange.run_reference", reference=f"{ref!r}"),
                t("exchange.whole_kept_in_remark", why=why),
            )
        elif given:
            del self.left["AAA"]
        else:
            self.left["AAA"] = ""
            manhole = any(c.startswith("C") for c in self.given)
            why = t("exchange.header_none_manhole") if manhole else t("exchange.header_none")
            self._note("AAA", "assumed", t("exchange.run_reference", reference=f"{made_up!r}"), why)

    def _nodes(self) -> None:
        start = self.given.get("AAB") or self.given.get("AAD", "")
        pair = [self.given.get("AAD", ""), self.given.get("AAF", "")]
        finish = pair[0] if start == pair[1] and pair[0] != start else pair[1]
        if "AAB" not in self.given and start:
            self.left["AAB"] = ""
            self._note(
                "AAD",
                "assumed",
                t("exchange.start_node", reference=f"{start[:60]!r}"),
                t("exchange.start_from_aad"),
            )
        for name, ref, code in (("start_node_id", start, "AAB"), ("finish_node_id", finish, "AAF")):
            if ref:
                self.owners["run"][name] = self.made.node(ref, self._line(code))
        for code, ref in (("AAB", start), ("AAD", start), ("AAF", finish)):
            if self.given.get(code, "") == ref and self.made.fitting("node", "node_ref", ref)[0] == ref:
                self.left.pop(code, None)
            else:
                self.left[code] = self.given.get(code, "")

    def _value(self, code: str, field: str) -> None:
        owner, _, name = field.partition(".")
        given = self.given[code]
        if owner not in self.owners or code in ("ADA", "ADB"):
            return
        value: Any = given
        if headers.has_list(code):
            value = headers.value_of(code, given)
        elif code in NUMBERS:
            value = read_number(given)
            value = round(value * NUMBERS[code], 9) if value is not None and code == "ACG" else value
        if value is None:
            why = t("exchange.not_in_list") if headers.has_list(code) else t("exchange.not_a_number")
            self._note(code, "kept", self._what(code), why)
        elif why := self.made.fault(owner, {name: value}):
            self._note(code, "kept", self._what(code), why)
        else:
            self.owners[owner][name] = value
            del self.left[code]

    def _what(self, code: str) -> str:
        return t("exchange.header_is", code=code, value=f"{self.given.get(code, '')[:80]!r}")

    def _weather(self) -> None:
        rain, frost = self.given.get("ADA", ""), self.given.get("ADB", "")
        if (rain, frost) == ("A", "B"):
            self.owners["job"]["weather"] = "freezing"
            del self.left["ADA"], self.left["ADB"]
        elif rain and (weather := headers.value_of("ADA", rain)):
            self.owners["job"]["weather"] = weather
            del self.left["ADA"]

    def _width(self) -> None:
        """A round pipe has one size; the width that a file repeats is not another fact."""
        pipe = self.owners["stretch"]
        if pipe.get("shape") != "circular":
            return
        if "width_mm" in pipe and pipe["width_mm"] == pipe.get("height_mm"):
            del pipe["width_mm"]
        elif "height_mm" in pipe and "ACC" not in self.given:
            self.left["ACC"] = ""

    def _depths(self) -> None:
        for code, end in DEPTH_CODES.items():
            node_id = self.owners["run"].get(end)
            node = self.made.records[node_id][1] if node_id else None
            depth_m = read_number(self.given.get(code, ""))
            if node is None:
                continue
            if code not in self.given:
                continue
            if depth_m is None or self.made.fault("node", {"dipped_depth_m": depth_m}):
                self._note(code, "kept", self._what(code), t("exchange.not_a_depth"))
            elif node.setdefault("dipped_depth_m", depth_m) == depth_m:
                del self.left[code]
            else:
                self._note(code, "kept", self._what(code), t("exchange.other_depth"))

    def _job(self) -> None:
        """The first inspection says what holds for the job; where another differs, it keeps its own."""
        made, mine = self.made, self.owners["job"]
        if self.number == 1:
            made.job.update(mine)
        for code, row in headers.rows().items():
            owner, _, name = str(row["field"]).partition(".")
            if owner != "job" or row["use"] != "mapped" or code in self.left:
                continue
            if mine.get(name) != made.job.get(name):
                self.left[code] = self.given.get(code, "")
                other = str(made.job.get(name, t("exchange.nothing")))[:80]
                why = t("exchange.other_inspection", other=f"{other!r}")
                self._note(code, "kept", self._what(code), why)

    def keep(self) -> None:
        """Keep what found no field.  After all inspections: a node's depth may come from a later one."""
        for code, end in DEPTH_CODES.items():
            node_id = self.owners["run"].get(end)
            if node_id and code not in self.given and "dipped_depth_m" in self.made.records[node_id][1]:
                self.left[code] = ""
        rows = headers.rows()
        for code, value in self.left.items():
            if not value or headers.is_mapped(code):
                continue
            words = headers.words_of(code, value)
            if code not in rows:
                why = t("exchange.header_unknown")
            elif rows[code]["use"] == "held_back":
                why = t("exchange.not_certain", words=words)
            else:
                why = t("exchange.no_field_means", words=words) if words else t("exchange.no_field")
            self._note(code, "kept", self._what(code), why)
        self.made.keep_beside(self.run_id, self.run_id, self.left)
