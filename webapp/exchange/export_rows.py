"""One run's observations, changes of pipe, remarks and photos -> rows in order of distance."""

from collections.abc import Iterator, Mapping
from typing import Any, cast

from ..messages import any_of, t
from ..schemas.pipe import END_REASONS
from ..survey.coding.run_end import end_observation, recorded_end
from ..survey.records import NodeFields, ObservationFields, RunFields
from . import headers
from .further import further_names, with_further
from .losses import Losses
from .model import Cell, Recorded
from .records import Book
from .text import number_text
from .writer import DISTANCE_DECIMALS

ROLES = {"start": "A", "finish": "B", "change": "C"}
GENERAL_PHOTO, GENERAL_REMARK = "BDA", "BDB"
LAST = "~"  # sorts behind every id
Cells = dict[str, Cell]
Key = tuple[float, int, float, str]


class RunRows:
    """The rows of one run."""

    def __init__(self, book: Book, run: Recorded, losses: Losses) -> None:
        self._book, self._run, self._losses = book, run, losses
        self._stretches = self._in_order()
        self._photos: dict[str, list[Recorded]] = {}
        observed = {o.id for o in book.of_run("observation", run.id)}
        for photo in book.of("photo"):
            owner = photo.fields.get("belongs_to") or ""
            if owner in observed:
                self._photos.setdefault(owner, []).append(photo)

    @property
    def first_stretch(self) -> dict[str, Any]:
        """Return the pipe that the run begins with; the header describes it."""
        return self._stretches[0][1].fields if self._stretches else {}

    @property
    def first_disputes(self) -> str:
        """Return which header values of that pipe are in dispute, with the values that stand."""
        return pipe_disputes(self._stretches[0][1]) if self._stretches else ""

    def cells(self) -> list[Cells]:
        """Return all rows in order."""
        found: list[tuple[Key, Cells]] = []
        for make in (self._changes, self._observations, self._general_photos):
            found += make()
        found += self._general_remarks()  # last: what is kept beside the others is known by now
        found.sort(key=lambda one: one[0])
        return [cells for _, cells in found]

    def _key(self, at_m: float, rank: int, record_id: str) -> Key:
        shown_m = at_m if at_m == float("-inf") else float(number_text(at_m, ".", DISTANCE_DECIMALS))
        return shown_m, rank, at_m, record_id

    def _in_order(self) -> list[tuple[Key, Recorded]]:
        found = []
        for record in self._book.of_run("stretch", self._run.id):
            at_m = self._book.chainage_m(self._run, record.fields.get("from_counter_m"))
            found.append((self._key(float("-inf") if at_m is None else at_m, 0, record.id), record))
        return sorted(found, key=lambda one: one[0])

    def _changes(self) -> Iterator[tuple[Key, Cells]]:
        before = self.first_stretch
        for key, record in self._stretches[1:]:
            if key[0] == float("-inf"):
                self._losses.count("stretches_nowhere")
                continue
            given = self._book.kept.beside(record.id)
            written, marks = False, pipe_disputes(record)
            for code in headers.STRETCH_CHANGES:
                values = self._pipe(record.fields, code)
                more = {k.partition("-")[2]: v for k, v in given.items() if k.startswith(f"{code}-")}
                if values != self._pipe(before, code) or more or (marks and not written):
                    written = True
                    places = dict(zip(headers.CHANGE_PLACES[code], values, strict=True))
                    unsettled = {"F": t("exchange.not_settled", marks=marks)} if marks else {}
                    yield key, {"I": key[2], "A": code, **places, **unsettled, **more}
            if not written:
                self._losses.count("other_changes")
            before = record.fields

    def _pipe(self, fields: dict[str, Any], code: str) -> list[Cell]:
        """The values of a change as a file states them."""
        if code == headers.SHAPE:
            height, width = fields.get("height_mm"), fields.get("width_mm")
            if width is None and fields.get("shape") == "circular":
                width = height
            shape = headers.letter("ACA", fields.get("shape"))
            return [shape, _or_empty(height), _or_empty(width)]
        if code == headers.MATERIAL:
            return [headers.letter("ACD", fields.get("material"))]
        length_m = fields.get("pipe_unit_length_m")
        return ["" if length_m is None else round(length_m * 1000, 3)]

    def _observations(self) -> Iterator[tuple[Key, Cells]]:
        for record in self._book.of_run("observation", self._run.id):
            given = self._book.kept.beside(record.id)
            at_m = self._book.chainage_m(self._run, record.fields.get("counter_m"))
            if at_m is None or not record.fields.get("code"):
                self._losses.count("observations_nowhere")
                continue
            photos = self._photos.get(record.id, [])
            self._losses.count("further_photos", len(photos[1:]))
            cells = _observation(record.fields)
            cells["F"] = _with_disputes(str(cells["F"]), record)
            if photos:
                cells["M"] = self._book.photo_name(photos[0])
            cells |= {"I": at_m, **given}
            cells["F"] = with_further(str(cells["F"]), record.fields)
            yield self._key(at_m, 1, record.id), cells
        yield from self._end()

    def _end(self) -> Iterator[tuple[Key, Cells]]:
        """The end of the run, where it stands on the run alone."""
        seen = self._book.of_run("observation", self._run.id)
        finish = self._book.nodes.get(self._run.fields.get("finish_node_id") or "")
        made = end_observation(cast(RunFields, self._run.fields), cast(NodeFields | None, finish))
        at_m = None if made is None else self._book.chainage_m(self._run, made["counter_m"])
        if (
            made is None
            or at_m is None
            or recorded_end([{"id": o.id, "fields": cast(ObservationFields, o.fields)} for o in seen])
        ):
            return
        remark = END_REASONS[made["remark_for"]] if made["remark_for"] else ""
        yield self._key(at_m, 1, LAST), {**_observation({**made, "remark": remark}), "I": at_m}

    def _general_remarks(self) -> Iterator[tuple[Key, Cells]]:
        for record in self._book.of_run("remark", self._run.id):
            at_m = self._book.chainage_m(self._run, record.fields.get("counter_m"))
            text = record.fields.get("text") or ""
            if at_m is not None and text and record.id not in self._book.kept.spoken_for:
                cells: Cells = {"I": at_m, "A": GENERAL_REMARK, "F": text}
                yield self._key(at_m, 2, record.id), cells

    def _general_photos(self) -> Iterator[tuple[Key, Cells]]:
        attached = {p.id for photos in self._photos.values() for p in photos}
        for record in self._book.of_run("photo", self._run.id):
            if record.id in attached or not record.fields.get("sha256"):
                continue
            at_m = self._book.chainage_m(self._run, record.fields.get("counter_m"))
            if at_m is None:
                self._losses.count("photos_nowhere")
                continue
            name, caption = self._book.photo_name(record), record.fields.get("caption") or ""
            cells: Cells = {"I": at_m, "A": GENERAL_PHOTO, "M": name, "F": caption}
            yield self._key(at_m, 3, record.id), cells


def pipe_disputes(record: Recorded) -> str:
    """The header codes of a pipe whose values are in dispute, each with what stands."""
    marks = []
    for name, code in PIPE_CODES.items():
        values = list(dict.fromkeys(_pipe_value(code, name, v) for _, v in record.conflicts.get(name, ())))
        if len(values) > 1:
            marks.append(f"{code}: {any_of(values)}")
    return "; ".join(marks)


def _pipe_value(code: str, name: str, value: Any) -> str:
    if value is None:
        return t("exchange.empty")
    return headers.letter(code, value) if name in ("shape", "material") else _plain(value)


def _or_empty(value: Any) -> Cell:
    found: Cell = "" if value is None else value
    return found


PIPE_CODES = {"shape": "ACA", "height_mm": "ACB", "width_mm": "ACC", "material": "ACD"}
DISPUTED = {
    "code": "A", "characterisation_1": "B", "characterisation_2": "C", "quantification_1": "D",
    "quantification_2": "E", "clock": "G/H", "counter_m": "I", "continuous": "J", "at_joint": "K",
}  # fmt: skip


def _with_disputes(remark: str, record: Recorded) -> str:
    """The remark, and before it which columns hold one of several values that stand in dispute."""
    marks, called = [], {**further_names(), **DISPUTED}
    for name, standing in record.conflicts.items():
        values = list(dict.fromkeys(t("exchange.empty") if v is None else _plain(v) for _, v in standing))
        if name in called and len(values) > 1:
            marks.append(f"{called[name]}: {any_of(values)}")
    if not marks:
        return remark
    unsettled = "; ".join(sorted(marks))
    return t("exchange.not_settled_remark", unsettled=unsettled, remark=remark).strip()


def _plain(value: Any) -> str:
    if isinstance(value, Mapping):
        return " ".join(f"{name} {value[name]}" for name in sorted(value))
    if isinstance(value, bool):
        return "yes" if value else "no"
    return format(value, "g") if isinstance(value, int | float) else str(value)


def _observation(fields: dict[str, Any]) -> Cells:
    clock, continuous = fields.get("clock") or {}, fields.get("continuous") or {}
    marker = f"{ROLES[continuous['role']]}{int(continuous['number']):02d}" if continuous else ""
    return {
        "J": marker,
        "A": fields["code"],
        "B": fields.get("characterisation_1") or "",
        "C": fields.get("characterisation_2") or "",
        "D": _or_empty(fields.get("quantification_1")),
        "E": _or_empty(fields.get("quantification_2")),
        "G": _or_empty(clock.get("hour_from")),
        "H": _or_empty(clock.get("hour_to")),
        "K": "A" if fields.get("at_joint") else "",
        "F": fields.get("remark") or "",
    }
