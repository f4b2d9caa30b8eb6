"""observations.csv: every observation with its code, the words of the code, and its photos."""

from collections.abc import Sequence

from ..report_model.contents import PackContents
from ..report_model.run import Observation, Run
from ..survey.wording.messages import Words, message
from . import texts
from .csv_text import MEDIA_TYPE as MEDIA_TYPE
from .csv_text import Cell, render_rows, rounded
from .readings_csv import level_cells, measured_cell

FILENAME = "observations.csv"
NO_TIME = "unknown"  # one for each photo, in their order
HEADER = (
    "run", "counter_m", "chainage_m", "code", "characterisation_1", "characterisation_2",
    "quantification_1", "quantification_1_unit", "quantification_2", "quantification_2_unit",
    "clock_from_h", "clock_to_h", "at_joint", "continuous_role", "continuous_number",
    "continuous_finish_chainage_m", "title", "words", "level_m", "level_sd_m",
    "level_low_m", "level_high_m", "level_how_known",
    "how_known", "disputed", "remark", "photos", "record_id", "code_from", "written", "turns_to",
    "level_measured_m", "place_of_level", "recorded_in_run", "same_as", "photos_taken_at",
)  # fmt: skip


def render(contents: PackContents) -> bytes:
    """Return the file."""
    words, names = contents.words, contents.further_names
    rows = ((*_row(words, run, o), *_further(o, names)) for run in contents.runs for o in run.observations)
    return render_rows((*HEADER, *names), rows)


def _row(words: Words, run: Run, o: Observation) -> tuple[Cell, ...]:
    units = [unit for _, _, unit in o.sizes]
    first = units.pop(0) if o.quantification_1 is not None else None
    second = units.pop(0) if o.quantification_2 is not None else None
    return (
        run.ref, o.counter_m, rounded(o.chainage_m, 4), o.code, o.characterisation_1,
        o.characterisation_2, o.quantification_1, first, o.quantification_2, second, o.clock_from,
        o.clock_to, o.at_joint, o.continuous_role, o.continuous_number, rounded(o.finish_m, 4), o.title,
        "; ".join(o.words), *level_cells(o.level),
        texts.sizes_known(words, o), o.disputed, o.remark,
        " ".join(p.filename for p in o.photos), o.record_id, o.code_from, o.written, o.turns_to,
        measured_cell(o.level), message(words, "pack.level_of", {}) if o.level else None,
        o.run_ref or run.ref, o.same_as, " ".join(p.taken_at or NO_TIME for p in o.photos),
    )  # fmt: skip


def _further(o: Observation, names: Sequence[str]) -> tuple[Cell, ...]:
    given = {one.name: one.value for one in o.further}
    return tuple(given.get(name) for name in names)
