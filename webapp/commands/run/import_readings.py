"""``fallbook readings import``."""

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from ...errors import AppError
from ...intake.import_readings import Preview, find_run, job_of, load, preview
from ...intake.jobs import take_job
from ...intake.readings_profiles import FILENAME, keep_profile, read_profiles
from ...messages import clauses, general, listed, t
from ...survey.readings_file import csv_profile
from ...survey.readings_file.csv_profile import answers_of, header_signature
from ...survey.readings_file.readings_csv import CsvResult
from ...survey.records import Inclination
from ...web.state import state_of
from ..import_readings import SIGNS, UNITS
from ..output import counted, one_line, say
from . import infile
from .jobs_here import job_id_of
from .opening import opened

SHOWN, WIDE = 8, 20
NAMES = {sign: name for name, sign in SIGNS.items()}


def import_readings(
    *,
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
    """Take a CSV file of readings into a run."""
    with infile.as_file(file) as path:
        content = load(path)

    def tell(line: str) -> None:
        say(one_line(f"{infile.shown(file) if infile.is_stdin(file) else file.name}: {line}"))

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
            wanted = clauses(t(f"cli.readings.ask.{name}") for name in asks)
            raise AppError("readings_asked", t("cli.readings.say", wanted=wanted))
        for line in _beside(found, overwrite):
            tell(line)
        if not take:
            tell(t("cli.readings.not_taken"))
            return
        made = take_job(job_of(job, found, readings, overwrite), lambda _: None, state_of(app).photos)
        tell(t("cli.readings.made", entries=counted(made["kept"], "entry"), run=run.fields.get("run_ref")))
        if _keep(found, kept):
            tell(t("cli.readings.kept", path=kept))


def _keep(found: Preview, path: Path) -> bool:
    """Keep what was said, if anything was that holds for the next file too."""
    result = found.result
    signature = header_signature(result["header"], result["header_line"])
    if not signature or "chosen" not in [result["known"][name] for name in csv_profile.NAMES]:
        return False
    keep_profile(path, signature, answers_of(result))
    return True


def _candidates(found: Preview) -> Iterable[str]:
    """Which columns a question is about, with their first cells."""
    header = found.result["header"]
    for name in ("counter_column", "inclination_column"):
        if name not in found.result["asks"]:
            continue
        for k in found.result["may_be"][name] or range(len(header)):
            cells = listed(row[k][:WIDE] for row in found.samples if k < len(row))
            yield t(f"cli.readings.may_be.{name}", number=k + 1, name=repr(header[k]), cells=cells)


def _columns(found: Preview) -> Iterable[str]:
    result, chosen, provenance = found.result, found.result["choices"], found.result["known"]
    separator = t(f"cli.readings.separator.{NAMES[found.separator]}")
    yield t("cli.readings.file", charset=found.charset, separator=separator, mark=chosen["decimal"])
    for name, index, unit in (
        ("counter_column", chosen["counter_column"], "counter_unit"),
        ("inclination_column", chosen["inclination_column"], "inclination_unit"),
        ("remark_column", chosen["remark_column"], ""),
    ):
        if index is not None:
            yield _column(result, name, result["header"][index], unit)
    if provenance["counter_unit"] == "assumed":
        yield t("cli.readings.unit_assumed")
    if chosen["plus"]:
        yield t(f"cli.readings.plus_{chosen['plus']}", known=_known(provenance["plus"]))
    yield t("cli.readings.zero", zero_m=general(chosen["zero_m"]), known=_known(provenance["zero_m"]))
    if result["unused"]:
        yield t("cli.readings.unused", columns=listed(result["unused"]))


def _column(result: CsvResult, name: str, header: str, unit: str) -> str:
    """Which column was taken for what, in which unit, and how that is known."""
    chosen: Mapping[str, Any] = {**result["choices"]}
    provenance = result["known"]
    column = {"column": repr(header), "known": _known(provenance[name])}
    if not unit or not chosen[unit]:
        return t(f"cli.readings.{name}", **column)
    words = t(f"cli.readings.unit.{chosen[unit]}") if chosen[unit] in UNITS else chosen[unit]
    return t(f"cli.readings.{name}_unit", **column, unit=words, unit_known=_known(provenance[unit]))


def _known(how: str) -> str:
    return t(f"cli.readings.known.{how}")


def _readings(found: Preview) -> Iterable[str]:
    taken = found.result["taken"]
    for row in taken[:SHOWN]:
        values = {
            "line": row["line"],
            "counter_m": f"{row['counter_m']:.3f}",
            "slope": _slope(row["inclination"]),
        }
        if typed := row.get("counter_typed"):
            yield t("cli.readings.reading_typed", **values, typed=repr(typed))
        else:
            yield t("cli.readings.reading", **values)
    if len(taken) > SHOWN:
        more = counted(len(taken) - SHOWN, "reading")
        yield t("cli.readings.more", readings=more, counter_m=f"{taken[-1]['counter_m']:.3f}")


def _slope(inclination: Inclination) -> str:
    sense = inclination["sense"]
    if inclination.get("over_range"):
        return t(f"cli.readings.beyond_{sense}")
    size, unit = inclination["size"] or 0.0, inclination["unit"]
    words = (
        t("cli.readings.one_in", size=general(size))
        if unit == "one_in"
        else t("cli.readings.size", size=general(size), unit=t(f"cli.readings.unit.{unit}"))
    )
    return words if sense == "level" else t(f"cli.readings.sense_{sense}", size=words)


def _beside(found: Preview, overwrite: bool) -> Iterable[str]:
    beside = found.beside
    yield t(
        "cli.readings.compared",
        new=counted(len(beside["new"]), "reading"),
        same=beside["same"],
        left=counted(len(found.result["left"]), "line"),
    )
    if beside["otherwise"] and not overwrite:
        yield t("cli.readings.other_answers")
    how = "overwritten" if overwrite else "left"
    for name in ("other", "removed", "gone"):
        if beside[name]:
            yield t(f"cli.readings.otherwise.{name}_{how}", readings=counted(len(beside[name]), "reading"))
    if beside["places"]:
        yield t("cli.readings.places", readings=counted(beside["places"], "new_reading"))
