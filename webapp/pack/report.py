"""The report's data: everything as text, in the order in which it is printed."""

import dataclasses
from typing import Any

from ..dates import day_text
from ..messages import all_of, stamp_text
from ..report_model.contents import PackContents
from ..report_model.run import Run
from ..report_model.section import Section
from ..survey.wording.checks import verdict_text
from ..survey.wording.messages import Words, apart, message, sentences
from ..survey.wording.quantities import known_word, spread_text
from ..survey.wording.recorded import north_word, short_text
from . import condensed, texts
from .condition_report import condition_data
from .condition_tables import condition_sections
from .figure_tables import sections
from .figure_words import rise_text
from .length_text import length_section
from .photo_sizes import rows_of
from .report_job import of_the_records, of_the_site, section_data
from .report_parts import Part, Piece, whole
from .report_records import (
    Pictures,
    observation_data,
    photo_data,
    reading_row,
    remark_row,
    stretch_row,
)
from .sight_section import sight_section
from .summary import ended_by, summary, way
from .template_words import template_words
from .texts import counter_resets, number
from .trace_table import look_text
from .warned import MAX_WARNINGS, all_warnings, on_page_one
from .words import glossary

NOT_SHOWN = ("missing", "damaged", "file_only")  # states of a picture that the report does not show
Drawings = dict[str, list[str]]  # run's id -> strips; run's id and "plan" -> the plan


def report_data(
    contents: PackContents, pictures: Pictures, drawings: Drawings, part: Part | None = None
) -> dict[str, Any]:
    """Return what the template prints; of a report in several files, what ``part`` prints."""
    pieces = part.pieces if part else [whole(run) for run in contents.runs]
    states = [picture.state for _, picture in pictures.values()]
    counts = {state: states.count(state) for state in NOT_SHOWN}
    in_runs = {p.record_id for run in contents.runs for p in run.photos}
    in_runs |= {p.record_id for run in contents.runs for o in run.observations for p in o.photos}
    words, warned = contents.words, all_warnings(contents, counts)
    goes_on_in = part.goes_on_in if part else ""
    return {
        **_head(contents),
        "warnings": [one.as_data() for one in on_page_one(contents, warned)],
        "all_warnings": [one.as_data() for one in warned] if len(warned) > MAX_WARNINGS else [],
        "summary": summary(contents, counts["missing"]),
        "condition": condition_data(contents),
        "runs": [_run(words, piece, pictures, drawings) for piece in pieces],
        "goes_on": message(words, "pack.part.goes_on", {"file": goes_on_in}) if goes_on_in else "",
        "photos": rows_of(
            [photo_data(words, p, pictures) for p in contents.photos if p.record_id not in in_runs]
        ),
        **of_the_site(contents),
        **of_the_records(contents),
        "glossary": glossary(words),
        "words": template_words(words),
    }


def _head(contents: PackContents) -> dict[str, str]:
    words = contents.words
    dated = message(words, "pack.no_date", {})
    if contents.surveyed_on:
        dated = message(words, "pack.surveyed_on", {"date": day_text(words, contents.surveyed_on)})
    by = message(words, "pack.by", {"surveyor": contents.surveyor}) if contents.surveyor else ""
    parts = [contents.purpose, dated, by]
    return {
        "title": contents.title,
        "author": contents.surveyor or message(words, "pack.not_recorded", {}),
        "subtitle": apart(words, parts),
        "site": contents.site,
        "footer": message(words, "pack.footer", {"time": stamp_text(words, contents.dated_at)}),
    }


def _run(words: Words, piece: Piece, pictures: Pictures, drawings: Drawings) -> dict[str, object]:
    run = piece.run
    return {
        "ref": run.ref,
        "title": message(words, f"pack.run{'_continued' if piece.continued else ''}", {"run": run.ref}),
        "way": way(words, run),
        "facts": _run_facts(words, run),
        "svgs": drawings.get(run.record_id, []),
        "levels_of": message(words, "pack.levels_of_run", {"run": run.ref}),
        "alt": _drawing_words(words, run),
        "drawing_note": _drawing_note(words, run),
        "sections": {s.key: section_data(s) for s in _sections(words, run)},
        "plan": "".join(drawings.get(f"{run.record_id} plan", [])),
        "plan_alt": _plan_words(words, run),
        "stretches": [stretch_row(words, s) for s in run.stretches],
        "observations": [observation_data(words, o, pictures) for o in piece.observations],
        "remarks": [remark_row(words, r.chainage_m, r.text) for r in run.remarks],
        "photos": rows_of([photo_data(words, p, pictures) for p in piece.photos]),
        "readings": [reading_row(words, r, run) for r in condensed.readings(run)],
        "readings_note": sentences(
            words, [message(words, "pack.readings.note", {}), *_readings_more(words, run)]
        ),
        "findings": _findings(words, run),
    }


def _readings_more(words: Words, run: Run) -> list[str]:
    """What the checks do to what was typed, and whose readings were taken looking the other way."""
    fewer = condensed.note(words, "readings", run.readings, condensed.readings(run))
    lines = [line for line in (fewer, verdict_text(words, run.figures.instruments)) if line]
    if run.length is None or not run.length.joined:
        return lines
    refs = all_of(words, (one.ref for one in run.length.runs if one.from_other_end))
    return [*lines, message(words, "pack.readings.turned", {"runs": refs})] if refs else lines


def _sections(words: Words, run: Run) -> list[Section]:
    printed = dataclasses.replace(run, figures=condensed.figures(run.figures))
    return [
        length_section(words, run), sight_section(words, run),
        *(_with_note(words, run, printed, one) for one in sections(words, printed)),
        *(fewer_rows(words, one) for one in condition_sections(words, run)),
    ]  # fmt: skip


def fewer_rows(words: Words, section: Section) -> Section:
    """Return a section with at most as many rows as are printed, and a note that says where all are."""
    rows = tuple(condensed.spread(section.rows, condensed.MAX_ROWS))
    fewer = condensed.note(words, "condition", section.rows, rows)
    return dataclasses.replace(section, rows=rows, note=sentences(words, (section.note, fewer)))


def _with_note(words: Words, run: Run, printed: Run, section: Section) -> Section:
    """Say below a table that it does not print all, and where all are."""
    whole, shown = {
        "falls": (run.figures.lengths, printed.figures.lengths),
        "gaps": (run.figures.gaps, printed.figures.gaps),
        "ties": (run.figures.ties, printed.figures.ties),
        "water": (
            (*run.figures.backfalls, *run.figures.sags),
            (*printed.figures.backfalls, *printed.figures.sags),
        ),
    }.get(section.key, ((), ()))
    fewer = condensed.note(words, section.key, whole, shown)
    return dataclasses.replace(section, note=sentences(words, (section.note, fewer)))


def _findings(words: Words, run: Run) -> list[str]:
    sentences = [sentence for _, sentence in run.findings]
    printed = sentences[: condensed.MAX_WORST]
    fewer = condensed.note(words, "findings", sentences, printed)
    return [*printed, fewer] if fewer else printed


def _start_level(words: Words, run: Run) -> str:
    if not run.figures.levels:
        return message(words, "survey.not_known", {})
    first = run.figures.levels[0]
    if not run.figures.absolute:
        return message(words, "pack.start_level.above_start", {})
    values = {
        "level": texts.level(words, first),
        "sd": spread_text(words, first.sd_m),
        "known": texts.level_known(words, first),
    }
    return message(words, f"pack.start_level.{'datum' if first.sd_m is None else 'datum_sd'}", values)


def _plan_words(words: Words, run: Run) -> str:
    trace = run.figures.trace
    plan: dict[str, str | int] = {"run": run.ref, "n": len(trace.bends) if trace else 0}
    look = look_text(words, run) or message(words, "pack.plan.no_end", {})
    return sentences(words, (message(words, "pack.plan.alt", plan), look))


def _start_bearing(words: Words, run: Run) -> str:
    bearing = run.start_bearing
    if not bearing:
        return ""
    values = {"deg": short_text(words, bearing["bearing_deg"]), "north": north_word(words, bearing["north"])}
    sd_deg = bearing.get("sd_deg")
    if sd_deg is None:
        return message(words, "pack.bearing.no_sd", values)
    return message(words, "pack.bearing.sd", {**values, "sd_deg": short_text(words, sd_deg)})


def _run_facts(words: Words, run: Run) -> list[list[str]]:
    surveyed = number(words, run.surveyed_m, 2, "m") or message(words, "survey.not_known", {})
    expected = message(words, "pack.facts.expected_known", {"m": number(words, run.expected_m, 2)})
    zero = {"value": number(words, run.counter_zero_m, 2), "known": known_word(words, run.zero_known)}
    rows = {
        "surveyed": message(words, "pack.value_known", {"value": surveyed, "known": run.surveyed_known}),
        "expected": expected if run.expected_m else "",
        "ended": ended_by(words, run)[0],
        "datum": run.datum_label,
        "counter": message(words, "pack.facts.zero_at", zero),
        "reset": counter_resets(words, run),
        "checks": verdict_text(words, run.figures.instruments),
        "start_level": _start_level(words, run),
        "bearing": _start_bearing(words, run),
        "remark": run.remark,
    }
    return [[message(words, f"pack.facts.{name}", {}), text] for name, text in rows.items() if text]


def _drawing_words(words: Words, run: Run) -> str:
    values = {
        "run": run.ref,
        "m": number(words, run.surveyed_m, 2, "m"),
        "readings": str(sum(1 for r in run.readings if r.level is not None)),
        "change": rise_text(words, run.figures.rise),
    }
    lines = [message(words, "pack.drawing.alt", values)]
    if run.over_range:
        lines.append(message(words, "pack.drawing.alt_bounds", {}))
    lines.append(message(words, "pack.drawing.alt_observations", {"n": len(run.observations)}))
    return sentences(words, lines)


def _drawing_note(words: Words, run: Run) -> str:
    shown = {
        "line": True,
        "bounds": bool(run.over_range),
        "ties": bool(run.figures.ties),
        "water": bool(run.figures.sags),
        "bars": any(o.finish_m is not None for o in run.observations),
    }
    lines = [message(words, f"pack.drawing.note_{name}", {}) for name, there in shown.items() if there]
    if len(run.figures.levels) > condensed.MAX_DRAWN:
        lines.append(message(words, "pack.condensed.drawing", {"all": str(len(run.figures.levels))}))
    return sentences(words, lines)
