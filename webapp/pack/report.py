"""The report's data: everything as text, in the order in which it is printed."""

import dataclasses
from typing import Any

from ..report_model.contents import Check, PackContents
from ..report_model.plain_values import sense_word, short_text
from ..report_model.run import Node, Observation, Photo, Reading, Run, Stretch
from ..report_model.section import Section
from ..survey.plan.position_accuracy import radius_95_m
from ..survey.records import Position
from ..survey.wording.checks import verdict_text
from ..survey.wording.messages import Words, message
from ..survey.wording.messages import listed as commas
from ..survey.wording.quantities import fixed_text, known_word, spread_text
from . import condensed, texts
from .condition_report import condition_data
from .condition_tables import condition_sections
from .figure_tables import sections
from .figure_words import north_text, rise_text
from .length_text import length_section
from .not_closed import not_closed
from .photo_sizes import BESIDE_PT, THIRD_PT, goes_beside, rows_of, size_of
from .pictures import Picture
from .sight_section import sight_section
from .summary import ended_by, summary, way
from .template_words import template_words
from .texts import counter_resets, listed, number
from .trace_table import look_text
from .warned import MAX_WARNINGS, all_warnings, on_page_one
from .words import glossary, limits

NOT_SHOWN = ("missing", "damaged", "file_only")  # states of a picture that the report does not show
Pictures = dict[str, tuple[str, Picture]]  # sha256 -> file below the report's folder, picture
Drawings = dict[str, list[str]]  # run's id -> strips; run's id and "plan" -> the plan


def report_data(contents: PackContents, pictures: Pictures, drawings: Drawings) -> dict[str, Any]:
    """Return what the template prints."""
    states = [picture.state for _, picture in pictures.values()]
    counts = {state: states.count(state) for state in NOT_SHOWN}
    in_runs = {p.record_id for run in contents.runs for p in run.photos}
    in_runs |= {p.record_id for run in contents.runs for o in run.observations for p in o.photos}
    words, warned = contents.words, all_warnings(contents, counts)
    dated = message(words, "pack.no_date", {})
    if contents.surveyed_on:
        dated = message(words, "pack.surveyed_on", {"date": contents.surveyed_on})
    by = message(words, "pack.by", {"surveyor": contents.surveyor}) if contents.surveyor else ""
    parts = [contents.purpose, dated, by]
    return {
        "title": contents.title,
        "author": contents.surveyor or message(words, "pack.not_recorded", {}),
        "subtitle": " · ".join(p for p in parts if p),
        "site": contents.site,
        "footer": message(words, "pack.footer", {"time": stamp(words, contents.dated_at)}),
        "warnings": [one.as_data() for one in on_page_one(contents, warned)],
        "all_warnings": [one.as_data() for one in warned] if len(warned) > MAX_WARNINGS else [],
        "summary": summary(contents, counts["missing"]),
        "condition": condition_data(contents),
        "runs": [_run(words, run, pictures, drawings) for run in contents.runs],
        "facts": [list(f) for f in contents.facts],
        "nodes": [_node(words, n) for n in contents.nodes],
        "checks": [_check(words, c) for c in contents.checks],
        "safety_note": contents.safety_note,
        "safety": [[s.question, _answer(words, s.answer, s.as_hoped), s.remark] for s in contents.safety],
        "cautions": [[c[0], c[1], f"{c[2]} ({c[3]})"] for c in contents.cautions],
        "limits": limits(contents),
        "remarks": [r.text for r in contents.remarks],
        "photos": rows_of(
            [_photo(words, p, pictures) for p in contents.photos if p.record_id not in in_runs]
        ),
        "conflicts": [[c.where, c.field, c.shown, "; ".join(c.others)] for c in contents.conflicts],
        "aside": [[a.entry, f"{a.kind}, {a.device}", " ".join(a.reasons)] for a in contents.rejected],
        "not_closed": _section(not_closed(contents)),
        "devices": [
            [d.device_id, str(d.openings), str(d.entries), stamp(words, d.first_at), stamp(words, d.last_at)]
            for d in contents.devices
        ],
        "changes_note": _changes_note(contents),
        "glossary": glossary(words),
        "words": template_words(words),
    }


def stamp(words: Words, value: str) -> str:
    """Return date and time to the minute, with the offset if it is not that of UTC."""
    offset = value[-6:] if value[-6:-5] in "+-" and value[-3:-2] == ":" else ""
    values = {"date": value[:10], "time": value[11:16], "offset": offset.replace("-", texts.MINUS)}
    return message(words, f"pack.stamp{'' if offset in ('+00:00', '') else '_offset'}", values)


def _changes_note(contents: PackContents) -> str:
    words = contents.words
    lines = [message(words, "pack.changes.entries", {"n": contents.entries})]
    if contents.removed:
        lines.append(message(words, "pack.changes.removed", {"n": contents.removed}))
    lines.append(message(words, "pack.changes.times", {"job": contents.job_id}))
    return " ".join(lines)


def _answer(words: Words, answer: str, as_hoped: bool | None) -> str:
    return message(words, "pack.attend", {"answer": answer}) if as_hoped is False else answer


def _run(words: Words, run: Run, pictures: Pictures, drawings: Drawings) -> dict[str, Any]:
    return {
        "ref": run.ref,
        "title": message(words, "pack.run", {"run": run.ref}),
        "way": way(words, run),
        "facts": _run_facts(words, run),
        "svgs": drawings.get(run.record_id, []),
        "levels_of": message(words, "pack.levels_of_run", {"run": run.ref}),
        "alt": _drawing_words(words, run),
        "drawing_note": _drawing_note(words, run),
        "sections": {s.key: _section(s) for s in _sections(words, run)},
        "plan": "".join(drawings.get(f"{run.record_id} plan", [])),
        "plan_alt": _plan_words(words, run),
        "stretches": [_stretch(words, s) for s in run.stretches],
        "observations": [_observation(words, o, pictures) for o in run.observations],
        "remarks": [_remark(words, r.chainage_m, r.text) for r in run.remarks],
        "photos": rows_of([_photo(words, p, pictures) for p in run.photos]),
        "readings": [_reading(words, r, run) for r in condensed.readings(run)],
        "readings_note": " ".join([message(words, "pack.readings.note", {}), *_readings_more(words, run)]),
        "findings": _findings(words, run),
    }


def _readings_more(words: Words, run: Run) -> list[str]:
    """What the checks do to what was typed, and whose readings were taken looking the other way."""
    fewer = condensed.note(words, "readings", run.readings, condensed.readings(run))
    lines = [line for line in (fewer, verdict_text(words, run.figures.instruments)) if line]
    if run.length is None or not run.length.joined:
        return lines
    refs = listed(words, (one.ref for one in run.length.runs if one.from_other_end))
    return [*lines, message(words, "pack.readings.turned", {"runs": refs})] if refs else lines


def _sections(words: Words, run: Run) -> list[Section]:
    printed = dataclasses.replace(run, figures=condensed.figures(run.figures))
    return [
        length_section(words, run), sight_section(words, run),
        *(_with_note(words, run, printed, one) for one in sections(words, printed)),
        *condition_sections(words, run),
    ]  # fmt: skip


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
    return dataclasses.replace(section, note=f"{section.note} {fewer}".strip()) if fewer else section


def _findings(words: Words, run: Run) -> list[str]:
    sentences = [sentence for _, sentence in run.findings]
    printed = sentences[: condensed.MOST_WORST]
    fewer = condensed.note(words, "findings", sentences, printed)
    return [*printed, fewer] if fewer else printed


def _section(s: Section) -> dict[str, Any]:
    return {
        "title": s.title, "header": list(s.header), "rows": [list(r) for r in s.rows], "right": list(s.right),
        "wide": s.wide, "parts": list(s.parts), "lines": list(s.lines), "note": s.note,
    }  # fmt: skip


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
    return f"{message(words, 'pack.plan.alt', plan)} {look}"


def _remark(words: Words, chainage_m: float | None, text: str) -> str:
    if chainage_m is None:
        return text
    return message(words, "pack.remark_at", {"m": number(words, chainage_m, 2), "text": text})


def _start_bearing(words: Words, run: Run) -> str:
    bearing = run.start_bearing
    if not bearing:
        return ""
    values = {"deg": short_text(words, bearing["bearing_deg"]), "north": north_text(words, bearing["north"])}
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
    return " ".join(lines)


def _drawing_note(words: Words, run: Run) -> str:
    shown = {
        "line": True,
        "bounds": bool(run.over_range),
        "ties": bool(run.figures.ties),
        "water": bool(run.figures.sags),
        "bars": any(o.finish_m is not None for o in run.observations),
    }
    lines = [message(words, f"pack.drawing.note_{name}", {}) for name, there in shown.items() if there]
    if len(run.figures.levels) > condensed.MOST_DRAWN:
        lines.append(message(words, "pack.condensed.drawing", {"all": str(len(run.figures.levels))}))
    return " ".join(lines)


def _stretch(words: Words, s: Stretch) -> list[str]:
    not_known = message(words, "pack.not_known", {})
    size = number(words, s.height_mm, 0, "mm")
    if s.width_mm is not None:
        size = f"{size} × {number(words, s.width_mm, 0, 'mm')}"
    ends = {
        "from_m": number(words, s.from_m, 2),
        "to_m": number(words, s.to_m, 2) or message(words, "survey.not_known", {}),
    }
    single = not_known
    if s.pipe_unit_length_m:
        single = message(words, "pack.stretch.each", {"m": short_text(words, s.pipe_unit_length_m)})
    remarks = [single]
    if s.disputed:
        remarks.append(message(words, "pack.stretch.not_settled", {"what": "; ".join(s.disputed)}))
    remarks += [s.remark] if s.remark else []
    provenance = f"_{s.to_known}" if s.to_known in ("start_of_next", "end_of_run") else ""
    return [
        message(words, f"pack.stretch.ends{provenance}", ends), f"{s.shape or not_known} {size}".strip(),
        s.size_known, s.material or not_known, s.lining or not_known, ". ".join(remarks),
    ]  # fmt: skip


def _observation(words: Words, o: Observation, pictures: Pictures) -> dict[str, Any]:
    level = {
        "level": texts.level(words, o.level),
        "known": texts.level_known(words, o.level) if o.level else "",
    }
    details = [
        texts.clock(words, o),
        texts.sizes(words, o),
        message(words, "pack.observation.turns", {"way": o.turns_to}) if o.turns_to else "",
        message(words, "pack.observation.joint", {}) if o.at_joint else "",
        texts.continuous(words, o),
        *texts.further(words, o),
        message(words, "pack.observation.level", level) if o.level else "",
        message(words, "pack.observation.in_run", {"run": o.run_ref}) if o.run_ref else "",
        message(words, "pack.observation.repeated", {}) if o.same_as else "",
    ]
    beside = goes_beside([pictures[p.sha256][1] for p in o.photos])
    place = BESIDE_PT if beside else THIRD_PT
    counter = {"m": number(words, o.counter_m, 2)}
    return {
        "at": number(words, o.chainage_m, 2, "m") or message(words, "pack.observation.no_place", {}),
        "counter": message(words, "pack.observation.counter", counter) if o.counter_m is not None else "",
        "title": o.title,
        "code": o.compact,
        "words": "; ".join(o.words),
        "details": " · ".join(d for d in details if d),
        "remark": message(words, "survey.action.quoted", {"text": o.remark}) if o.remark else "",
        "disputed": o.disputed,
        "photos": rows_of([_photo(words, p, pictures, place) for p in o.photos]),
        "beside": beside,
    }


def _photo(words: Words, p: Photo, pictures: Pictures, place_pt: float = THIRD_PT) -> dict[str, Any]:
    file, picture = pictures[p.sha256]
    size = size_of(picture, place_pt).as_data()
    place = number(words, p.chainage_m, 2, "m")
    caption = commas(
        words, (c for c in (p.caption, place, stamp(words, p.taken_at) if p.taken_at else "") if c)
    )
    values = {"caption": caption or message(words, "pack.photo.no_caption", {}), "run": p.run_ref}
    if picture.state:
        values["megapixels"] = f"{picture.too_many_px / 1e6:,.0f}"
        why = f"_{picture.why}" if picture.why else ""
        lacking = message(words, f"pack.photo.{picture.state}{why}", values)
        return {"file": "", "alt": "", "caption": lacking, "size": size}
    alt = message(words, f"pack.photo.{'alt_in_run' if p.run_ref else 'alt'}", values)
    return {"file": file, "alt": alt, "caption": values["caption"], "size": size}


def _reading(words: Words, r: Any, run: Run) -> list[str]:
    raw = r.inclination or {}
    typed = raw.get("typed") or ""
    sense = sense_word(words, raw.get("sense"))
    if r.over:
        typed = message(words, "pack.reading.typed_beyond", {"sense": sense})
    elif typed or raw:
        typed = typed or short_text(words, raw.get("size", 0))
        typed = message(words, "pack.inclination.sense", {"size": typed, "sense": sense}) if sense else typed
    mark = " *" if r.disputed else ""
    instruments = run.figures.instruments
    gradient = (
        f"{texts.one_in(words, r, instruments.limit_deg, instruments.limit_known)} {texts.arrow(r)}".strip()
    )
    return [
        _counter(words, r), number(words, r.chainage_m, 2),
        f"{typed or message(words, 'pack.not_recorded', {})}{mark}", gradient,
        texts.percent(words, r), texts.degrees(words, r), texts.level(words, r.level),
        spread_text(words, r.level.sd_m) if r.level else "", _reading_known(words, r),
    ]  # fmt: skip


def _counter(words: Words, r: Reading) -> str:
    values = {"m": number(words, r.counter_m, 2), "in_file": texts.counter_in_file(words, r)}
    return message(words, "pack.reading.counter", values) if values["in_file"] else values["m"]


def _reading_known(words: Words, r: Reading) -> str:
    if not r.level:
        return message(words, "pack.reading.no_level" if r.inclination else "survey.not_known", {})
    return texts.level_known(words, r.level)


def _node(words: Words, n: Node) -> list[str]:
    place = n.position_note
    if n.position:
        place = f"{_where(words, n.position)}. {place}".strip()
    return [
        n.ref, n.type_label, number(words, n.cover_level_m, 3, "m"), number(words, n.dipped_depth_m, 3, "m"),
        number(words, n.invert_m, 3, "m"), place or message(words, "pack.node.no_place", {}),
    ]  # fmt: skip


def _where(words: Words, position: Position) -> str:
    place = {
        "lat_deg": fixed_text(words, position["lat_deg"], 5),
        "lon_deg": fixed_text(words, position["lon_deg"], 5),
    }
    where = message(words, "pack.trace.lat_lon", place)
    radius = radius_95_m(position)
    if radius is not None:
        near = {"place": where, "m": fixed_text(words, radius, 1)}
        where = message(words, "pack.node.within", near)
    return f"{where}, {position['source']}" if position.get("source") else where


def _check(words: Words, c: Check) -> list[str]:
    values = {"check": c.label, "run": c.run_ref}
    name = message(words, "pack.check.in_run", values) if c.run_ref else c.label
    recorded = "; ".join(f"{label}: {value}" for label, value in c.facts)
    if c.instrument:
        recorded = f"{recorded}. {c.instrument}" if recorded else c.instrument
    return [name, recorded, " ".join([*c.follows, c.remark]).strip()]
