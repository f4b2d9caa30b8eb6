"""Records -> inspections: what the format can carry of a job, and what it cannot.

::

    inspections_of(records, places) -> Mapped(inspections, not_carried)
"""

from collections.abc import Iterable
from typing import Any

from .. import tables
from ..messages import t
from . import headers
from .export_rows import RunRows
from .losses import Losses
from .model import Cell, Inspection, Mapped, Recorded
from .records import Book, Places

CONSTANTS = {"ABE": "B"}
NODE_CODES = {"AAB": "start_node_id", "AAD": "start_node_id", "AAF": "finish_node_id"}
DEPTH_CODES = {"ACH": "start_node_id", "ACI": "finish_node_id"}


def inspections_of(records: Iterable[Recorded], places: Places | None = None) -> Mapped:
    """Return a job's runs as inspections, and in sentences what the format cannot take along."""
    book = Book(records, places or Places())
    losses = Losses()
    found = tuple(_inspection(book, run, losses) for run in book.of("run"))
    losses.look_at(book)
    return Mapped(found, tuple(losses.sentences()))


def _inspection(book: Book, run: Recorded, losses: Losses) -> Inspection:
    given = book.kept.beside(run.id)
    rows = RunRows(book, run, losses)
    cells = rows.cells()  # looks up what is kept beside rows, before the run's remarks are gathered
    made = _header(book, run, rows, given, losses)
    return Inspection({**made, **given}, tuple(cells))


def _header(
    book: Book, run: Recorded, rows: RunRows, given: dict[str, str], losses: Losses
) -> dict[str, Cell]:
    stretch = rows.first_stretch
    owners = {"job": book.job, "run": run.fields, "stretch": stretch}
    found: dict[str, Cell] = {code: str(letter) for code, letter in CONSTANTS.items()}
    found["ABA"] = str(tables.load("observation_codes")["standard"])
    for code, row in headers.rows().items():
        if code in given or not row["field"]:
            continue
        value = _value(book, run, owners, code, row["field"])
        if row["use"] == "held_back":
            losses.held_back(row, value)
        elif value not in (None, ""):
            found[code] = value if not headers.has_list(code) else losses.letter(code, row, value)
    unsettled = t("exchange.not_settled_header", marks=marks) if (marks := rows.first_disputes) else ""
    found["ADE"] = " / ".join(part for part in (unsettled, _remarks(book, run)) if part)
    if stretch.get("shape") == "circular" and stretch.get("width_mm") is None:
        found["ACC"] = found.get("ACB", "")
    if book.job.get("weather") == "freezing":
        found |= {"ADA": "A", "ADB": "B"}
    else:
        found.pop("ADB", None)
    return found


def _value(book: Book, run: Recorded, owners: dict[str, Any], code: str, field: str) -> Any:
    if code in NODE_CODES:
        return book.nodes.get(run.fields.get(NODE_CODES[code]) or "", {}).get("node_ref")
    if code in DEPTH_CODES:
        return book.nodes.get(run.fields.get(DEPTH_CODES[code]) or "", {}).get("dipped_depth_m")
    owner, _, name = field.partition(".")
    value = owners[owner].get(name)
    if code == "ACG" and value is not None:
        return round(value * 1000, 3)
    if code in ("ADA", "ADB") and value == "freezing":
        return None
    return value


def _remarks(book: Book, run: Recorded) -> str:
    """The run's remark and its remarks that stand at no distance, one after another."""
    found = [run.fields.get("remark") or ""]
    for remark in book.of_run("remark", run.id):
        if remark.fields.get("counter_m") is None and remark.id not in book.kept.spoken_for:
            found.append(remark.fields.get("text") or "")
    return " / ".join(text.strip() for text in found if text.strip())
