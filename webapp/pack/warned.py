"""What page one warns of: as many lines as fit, each with the place in the report that says more."""

from collections.abc import Iterable
from dataclasses import dataclass

from ..report_model.contents import PackContents
from ..report_model.run import Run
from ..survey.wording.messages import message
from ..survey.wording.quantities import place_text
from .condition_tables import immediate_lines
from .sight_section import hazard_caution
from .words import warnings
from .worst import worst_first

MAX_WARNINGS = 6
MIN_M = 0.005


@dataclass(frozen=True)
class Warned:
    """A warning, and the label of the part of the report that it leads to; none where it says all."""

    words: str
    to: str = ""

    def as_data(self) -> list[str]:
        """Return it as the template takes it."""
        return [self.words, self.to]


def all_warnings(contents: PackContents, counts: dict[str, int]) -> list[Warned]:
    """Return hazards to people first, then what calls for action at once, what is missing or in dispute."""
    return [
        *_hazards(contents),
        *_immediate(contents),
        *_outside(contents),
        *(Warned(*one) for one in warnings(contents, counts)),
    ]


def _hazards(contents: PackContents) -> Iterable[Warned]:
    for run in worst_first(contents):
        for one in run.sight.hazards:
            line = hazard_caution(contents.words, one)
            yield Warned(_of_run(contents, run, line), label_of(contents, run.record_id))


def _outside(contents: PackContents) -> Iterable[Warned]:
    """Records that lie before the start of a run or beyond its end: one or the other is wrong."""
    for run in worst_first(contents):
        end_m = None if run.length is not None else run.surveyed_m
        places = [
            *(one.chainage_m for one in run.readings),
            *(one.chainage_m for one in run.observations),
            *(one.chainage_m for one in run.remarks),
        ]
        known = [p for p in places if p is not None]
        beyond = [p for p in known if end_m is not None and p > end_m + MIN_M]
        before = [p for p in known if p < -MIN_M]
        for outside, which in ((beyond, "beyond"), (before, "before")):
            if outside:
                values: dict[str, str | int] = {
                    "n": len(outside),
                    "m": place_text(contents.words, max(outside, key=abs)),
                }
                line = message(contents.words, f"pack.warning.{which}", values)
                yield Warned(_of_run(contents, run, line), label_of(contents, run.record_id))


def _of_run(contents: PackContents, run: Run, line: str) -> str:
    return message(contents.words, "pack.warning.of_run", {"run": run.ref, "line": line})


def _immediate(contents: PackContents) -> Iterable[Warned]:
    for run in worst_first(contents):
        for line in immediate_lines(contents.words, run.condition) if run.condition else ():
            yield Warned(_of_run(contents, run, line), "condition")


def label_of(contents: PackContents, record_id: str) -> str:
    """Return the label of a run's part of the report."""
    return f"run-{next(n for n, run in enumerate(contents.runs) if run.record_id == record_id)}"


def on_page_one(contents: PackContents, found: list[Warned]) -> list[Warned]:
    """Return those that page one has room for; the last of them says how many more there are, and where."""
    if len(found) <= MAX_WARNINGS:
        return found
    counts: dict[str, str | int] = {"n": len(found) - (MAX_WARNINGS - 1), "all": str(len(found))}
    more = message(contents.words, "pack.warning.more", counts)
    return [*found[: MAX_WARNINGS - 1], Warned(more, ALL)]


ALL = "all-warnings"
