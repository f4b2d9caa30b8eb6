"""A report of many runs in several files: the typesetter holds 12 kB for every cell of a table.

The first file has page one, the condition of all runs and the job; each of the others has some runs. Every
one is a whole document by the same standards, which pages joined afterwards would not be.
"""

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass

from ..report_model.contents import PackContents
from ..report_model.run import Photo, Run
from ..survey.wording.messages import message
from . import condensed

WHOLE_CELLS = 30_000  # of a report in one file: 400 MB
PART_CELLS = 20_000
_RUN_CELLS, _OBSERVATION_CELLS, _PHOTO_CELLS = 400, 12, 60
_COLUMNS = 9  # of readings, and of lengths


@dataclass(frozen=True)
class Part:
    """One file of the report, and the runs that it has; the first has none where there are others."""

    filename: str
    runs: tuple[Run, ...]
    number: int
    of: int

    def contents(self, whole: PackContents) -> PackContents:
        """Return what this part is made from."""
        title = message(
            whole.words,
            "pack.part.title",
            {"title": whole.title, "number": str(self.number), "of": str(self.of)},
        )
        photos = tuple(p for run in self.runs for p in photos_of(run))
        return dataclasses.replace(whole, title=title, runs=self.runs, photos=photos)


def photos_of(run: Run) -> list[Photo]:
    """Return the photos that the report shows with a run."""
    return [*run.photos, *(photo for one in run.observations for photo in one.photos)]


def cells(run: Run) -> int:
    """Return how much a run weighs in the report, in cells of a table."""
    rows = sum(min(len(found), condensed.MOST_ROWS) for found in (run.readings, run.figures.lengths))
    photos = len(photos_of(run)) * _PHOTO_CELLS
    return _RUN_CELLS + _COLUMNS * rows + len(run.observations) * _OBSERVATION_CELLS + photos


def parts(contents: PackContents, filename: str) -> list[Part]:
    """Return the files of a report: one, or the first and those with the runs."""
    if sum(cells(run) for run in contents.runs) <= WHOLE_CELLS:
        return [Part(filename, contents.runs, 1, 1)]
    groups = _groups(contents.runs)
    stem, _, suffix = filename.rpartition(".")
    of = len(groups) + 1
    later = [Part(f"{stem}_{n}.{suffix}", tuple(group), n, of) for n, group in enumerate(groups, 2)]
    return [Part(filename, (), 1, of), *later]


def _groups(runs: Sequence[Run]) -> list[list[Run]]:
    groups: list[list[Run]] = [[]]
    held = 0
    for run in runs:
        if groups[-1] and held + cells(run) > PART_CELLS:
            groups.append([])
            held = 0
        groups[-1].append(run)
        held += cells(run)
    return groups
