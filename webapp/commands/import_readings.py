"""``fallbook readings import``."""

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ..errors import AppError
from ..intake.readings_profiles import CHOICES, FILENAME, keep_profile, read_profiles
from . import infile
from .common import counted, data_option, opened
from .jobs_here import JobName, job_id_of
from .output import one_line, say

if TYPE_CHECKING:
    from ..intake.import_readings import Preview

SHOWN, WIDE = 8, 20
NAMES = {";": "semicolon", "\t": "tab", ",": "comma", "|": "bar"}
SIGNS = {name: sign for sign, name in NAMES.items()}
ASKED = {
    "counter_column": "--distance, the column of distances: its name or its number",
    "inclination_column": "--inclination, the column of inclinations: its name or its number",
    "decimal": "--decimal, which of . and , is the decimal mark",
    "counter_unit": "--distance-unit, the unit of its distances",
    "inclination_unit": "--inclination-unit, the unit of its inclinations",
    "plus": "--plus, what a value without a minus means: rising or falling",
}
KNOWN = {
    "file": "from the file", "chosen": "as you said", "assumed": "assumed",
    "remembered": "as said for a file with these columns before",
}  # fmt: skip
UNITS = {"deg": "degrees", "pct": "%", "permille": "‰", "one_in": "1 in N", "m_per_m": "length over length"}


@click.command("import-readings")
@click.argument("file", metavar="FILE", type=click.Path(dir_okay=False, path_type=Path, allow_dash=True))
@click.option("--run", "run_ref", required=True, help="The run: its reference or its id.")
@click.option(
    "--job",
    "job_name",
    type=JobName(),
    help="The job, where several have a run of that name: its title or id.",
)
@click.option("--distance", "counter_column", help="Column of the distances: its name, or its number from 1.")
@click.option("--inclination", "inclination_column", help="Column of the inclinations, likewise.")
@click.option("--remark", "remark_column", help="Column of remarks, likewise; - for none.")
@click.option("--distance-unit", "counter_unit", type=click.Choice(CHOICES["counter_unit"]))
@click.option("--inclination-unit", type=click.Choice(list(UNITS)))
@click.option("--plus", type=click.Choice(["rising", "falling"]), help="What a value without a minus means.")
@click.option("--decimal", type=click.Choice([".", ","]), help="Decimal mark (default: found in the file).")
@click.option(
    "--separator", type=click.Choice(list(SIGNS)), help="Between cells (default: found in the file)."
)
@click.option("--zero-m", type=float, help="What the counter shows where the file's distance is zero [m].")
@click.option(
    "--profile",
    type=click.Path(dir_okay=False, path_type=Path),
    help="File of answers kept by the names of the columns (default: one in the data folder).",
)
@click.option("--forget", is_flag=True, help="Do not use what was said for a file with these columns before.")
@click.option(
    "--overwrite", is_flag=True, help="Also change or remove readings of this file that are here otherwise."
)
@click.option("--take", is_flag=True, help="Make the readings; without it they are only shown.")
@data_option
def import_readings(
    file: Path,
    run_ref: str,
    job_name: str | None,
    profile: Path | None,
    forget: bool,
    overwrite: bool,
    take: bool,
    data: Path | None,
    **choices: Any,
) -> None:
    """Take readings of another instrument from a CSV file into a run.

    Shows what would be made, and line by line what would not; --take makes it, all or nothing.  Taking the
    same file twice changes nothing.  What you say of the columns is kept for the next file that has the
    same.  FILE may be - for standard input.  Stop the server first.

    \b
    Example: fallbook readings import log.csv --run R1 --plus rising
    """
    from ..intake.import_readings import find_run, job_of, load, preview
    from ..intake.jobs import take_job
    from ..web.state import state_of

    with infile.as_file(file) as path:
        content = load(path)

    def tell(line: str) -> None:
        say(one_line(f"{'standard input' if infile.is_stdin(file) else file.name}: {line}"))

    choices["separator"] = SIGNS.get(choices["separator"] or "")
    with opened(data) as app:
        job, run, readings = find_run(run_ref, job_id_of(data, job_name) if job_name else None)
        kept = profile or state_of(app).folder / FILENAME
        found = preview(content, choices, run, readings, {} if forget else read_profiles(kept))
        for line in (*_columns(found), *found.lines(), *_readings(found)):
            tell(line)
        if asks := found.result["asks"]:
            for line in _candidates(found):
                tell(line)
            raise AppError("readings_asked", "Say " + "; ".join(ASKED[name] for name in asks) + ".")
        for line in _beside(found, overwrite):
            tell(line)
        if not take:
            tell("nothing was made; add --take to make them")
            return
        made = take_job(job_of(job, found, readings, overwrite), lambda _: None, state_of(app).photos)
        tell(f"{counted(made['kept'], 'entry')} made in run {run.fields.get('run_ref')}")
        if _keep(found, kept):
            tell(f"your answers are kept in {kept} for files with the same columns")


def _keep(found: "Preview", path: Path) -> bool:
    """Keep what was said, if anything was that holds for the next file too."""
    from ..survey.readings_file.csv_profile import NAMES as KEPT
    from ..survey.readings_file.csv_profile import answers_of, header_signature

    result = found.result
    signature = header_signature(result["header"], result["header_line"])
    if not signature or "chosen" not in [result["known"][name] for name in KEPT]:
        return False
    keep_profile(path, signature, answers_of(result))
    return True


def _candidates(found: "Preview") -> Iterable[str]:
    """Which columns a question is about, with their first cells."""
    header = found.result["header"]
    for name, title in (("counter_column", "distance"), ("inclination_column", "inclination")):
        if name not in found.result["asks"]:
            continue
        for k in found.result["may_be"][name] or range(len(header)):
            cells = ", ".join(row[k][:WIDE] for row in found.samples if k < len(row))
            yield f"the {title} may be column {k + 1}, {header[k]!r}: {cells}"


def _columns(found: "Preview") -> Iterable[str]:
    result, chosen, known = found.result, found.result["choices"], found.result["known"]
    yield f"{found.charset}, cells parted by {NAMES[found.separator]}, decimal mark {chosen['decimal']}"
    for name, title, unit in (
        ("counter_column", "distance", "counter_unit"),
        ("inclination_column", "inclination", "inclination_unit"),
        ("remark_column", "remark", ""),
    ):
        if chosen[name] is None:
            continue
        said = f"{title}: column {result['header'][chosen[name]]!r} ({KNOWN[known[name]]})"
        if unit and chosen[unit]:
            said += f", in {UNITS.get(chosen[unit], chosen[unit])} ({KNOWN[known[unit]]})"
        yield said
    if known["counter_unit"] == "assumed":
        yield "no word in the file says the unit of its distances: metres are assumed (--distance-unit)"
    if chosen["plus"]:
        yield f"a value without a minus is {chosen['plus']} ahead ({KNOWN[known['plus']]})"
    yield f"{chosen['zero_m']:g} m is added to every distance ({KNOWN[known['zero_m']]})"
    if result["unused"]:
        yield "columns not taken: " + ", ".join(result["unused"])


def _readings(found: "Preview") -> Iterable[str]:
    taken = found.result["taken"]
    for row in taken[:SHOWN]:
        slope = f"{_slope(row['inclination'])}{_raw(row)}"
        yield f"line {row['line']}: reading at {row['counter_m']:.3f} m, {slope}"
    if len(taken) > SHOWN:
        yield f"and {counted(len(taken) - SHOWN, 'reading')} more, the last at {taken[-1]['counter_m']:.3f} m"


def _raw(row: dict[str, Any]) -> str:
    typed = row.get("counter_typed")
    return f" ({typed!r} in the file)" if typed else ""


def _slope(inclination: dict[str, Any]) -> str:
    if inclination.get("over_range"):
        return f"beyond the range, {inclination['sense']}"
    size, unit = inclination["size"], inclination["unit"]
    words = f"1 in {size:g}" if unit == "one_in" else f"{size:g} {UNITS[unit]}"
    return words if inclination["sense"] == "level" else f"{words}, {inclination['sense']}"


def _beside(found: "Preview", overwrite: bool) -> Iterable[str]:
    beside = found.beside
    yield (
        f"{counted(len(beside['new']), 'reading')} new, {beside['same']} here already, "
        f"{counted(len(found.result['left']), 'line')} not taken"
    )
    if beside["otherwise"] and not overwrite:
        yield "this file was taken with other answers before; nothing new is made without --overwrite"
    outcome = "changed to the file's" if overwrite else "left as they are; --overwrite changes them"
    if beside["other"]:
        yield f"{counted(len(beside['other']), 'reading')} here with other values, {outcome}"
    if beside["removed"]:
        yield f"{counted(len(beside['removed']), 'reading')} of this file removed here, {outcome}"
    if beside["gone"]:
        outcome = "removed" if overwrite else "left as they are; --overwrite removes them"
        yield f"{counted(len(beside['gone']), 'reading')} here that the file no longer gives, {outcome}"
    if beside["places"]:
        yield f"{counted(beside['places'], 'new reading')} at a place where the run has one already"
