"""All cells of a kind, one after the other or in several processes."""

from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from time import process_time

from .cell import Cell
from .cells import CELLS, SLIPS
from .judge import judge_cell
from .result import CellResult, result_of

KINDS = {"levels": CELLS, "slips": SLIPS}


def cell_results(kind: str, surveys: int, jobs: int = 1) -> tuple[list[CellResult], float]:
    """Return the results of the cells of a kind, and the CPU time of a survey [s].

    ``kind``: ``levels``, or ``slips`` (a wrong level among others); ``jobs``: so many processes at a time.
    """
    own: Sequence[Cell] = KINDS[kind]
    work = partial(_result, surveys=surveys)
    if jobs == 1:
        done = list(map(work, own))
    else:
        with ProcessPoolExecutor(jobs) as pool:
            done = list(pool.map(work, own))
    return [found for found, _ in done], sum(spent for _, spent in done) / (surveys * len(own))


def _result(cell: Cell, surveys: int) -> tuple[CellResult, float]:
    begun = process_time()
    found = result_of(cell, judge_cell(cell, surveys))
    return found, process_time() - begun
