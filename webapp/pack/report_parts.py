"""A report of many runs in several files: the typesetter holds 12 kB for every cell of a table.

The first file has page one, the condition of all runs and the job; each of the others has some runs. Every
one is a whole document by the same standards, which pages joined afterwards would not be.
"""

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass

from ..report_model.contents import PackContents
from ..report_model.run import Observation, Photo, Run
from ..survey.wording.messages import message
from . import condensed

WHOLE_CELLS = 30_000  # of a report in one file: 500 MB
PART_CELLS = 20_000
_RUN_CELLS, _OBSERVATION_CELLS, _PHOTO_CELLS = 400, 12, 30
_COLUMNS = 9  # of readings, and of lengths


@dataclass(frozen=True)
class Piece:
    """What one file prints of a run; ``continued``: it goes on from the file before with these alone."""

    run: Run
    observations: tuple[Observation, ...]
    photos: tuple[Photo, ...]  # those that belong to no observation
    continued: bool = False

    @property
    def all_photos(self) -> list[Photo]:
        """Return every photo that is shown."""
        return [*self.photos, *(photo for one in self.observations for photo in one.photos)]


@dataclass(frozen=True)
class Part:
    """One file of the report, and what it has of the runs; the first has none where there are others."""

    filename: str
    pieces: tuple[Piece, ...]
    number: int
    of: int
    goes_on_in: str = ""  # the file that has more of its last run

    @property
    def continued(self) -> bool:
        """Say whether it goes on with a run."""
        return any(piece.continued for piece in self.pieces)

    def contents(self, whole: PackContents) -> PackContents:
        """Return what this part is made from."""
        title = message(
            whole.words,
            "pack.part.title",
            {"title": whole.title, "number": str(self.number), "of": str(self.of)},
        )
        photos = tuple(photo for piece in self.pieces for photo in piece.all_photos)
        runs = tuple(piece.run for piece in self.pieces)
        return dataclasses.replace(whole, title=title, runs=runs, photos=photos)


def whole(run: Run) -> Piece:
    """Return all of a run."""
    return Piece(run, run.observations, run.photos)


def parts(contents: PackContents, filename: str) -> list[Part]:
    """Return the files of a report: one, or the first and those with the runs."""
    if sum(_weight(whole(run)) for run in contents.runs) <= WHOLE_CELLS:
        return [Part(filename, tuple(whole(run) for run in contents.runs), 1, 1)]
    groups = _groups([piece for run in contents.runs for piece in _pieces(run)])
    stem, _, suffix = filename.rpartition(".")
    names = [f"{stem}_{n}.{suffix}" for n in range(2, len(groups) + 2)]
    more = [name if group[0].continued else "" for name, group in zip(names, groups, strict=True)]
    later = [
        Part(name, tuple(group), n, len(groups) + 1, goes_on_in)
        for n, (name, group, goes_on_in) in enumerate(zip(names, groups, [*more[1:], ""], strict=True), 2)
    ]
    return [Part(filename, (), 1, len(groups) + 1), *later]


def _weight(piece: Piece) -> int:
    """Return how much a piece weighs in the report, in cells of a table."""
    run = piece.run
    rows = sum(min(len(found), condensed.MAX_ROWS) for found in (run.readings, run.figures.lengths))
    own = 0 if piece.continued else _RUN_CELLS + _COLUMNS * rows
    return own + len(piece.observations) * _OBSERVATION_CELLS + len(piece.all_photos) * _PHOTO_CELLS


def _pieces(run: Run) -> list[Piece]:
    """Return a run in so many pieces that none is much heavier than a file may be."""
    if _weight(whole(run)) <= PART_CELLS:
        return [whole(run)]
    lists: list[tuple[list[Observation], list[Photo]]] = [([], [])]
    held = _weight(Piece(run, (), ()))
    items: list[Observation | Photo] = [*run.observations, *run.photos]
    for one in items:
        shown = 1 if isinstance(one, Photo) else len(one.photos)
        cells = shown * _PHOTO_CELLS + (0 if isinstance(one, Photo) else _OBSERVATION_CELLS)
        if held + cells > PART_CELLS and any(lists[-1]):
            lists.append(([], []))
            held = 0
        if isinstance(one, Photo):
            lists[-1][1].append(one)
        else:
            lists[-1][0].append(one)
        held += cells
    return [Piece(run, tuple(o), tuple(p), n > 0) for n, (o, p) in enumerate(lists)]


def _groups(pieces: Sequence[Piece]) -> list[list[Piece]]:
    groups: list[list[Piece]] = []
    held = 0
    for piece in pieces:
        alone = piece.continued or (groups and groups[-1][0].continued)
        if not groups or alone or held + _weight(piece) > PART_CELLS:
            groups.append([])
            held = 0
        groups[-1].append(piece)
        held += _weight(piece)
    return groups
