"""The report's data: everything as text, in the order in which it is printed."""

from typing import Any

from ..report_model.contents import Node, Observation, PackContents, Photo, Run
from ..report_model.plain_values import short_text
from ..report_model.section import Section
from ..survey.instruments.check_verdicts import verdict_text
from ..survey.numbers.decimals import decimal_text
from ..survey.plan.position_accuracy import radius_95_m
from ..survey.wording.figure_words import spread_text
from . import texts
from .condition_report import condition_data
from .condition_tables import condition_sections
from .figure_tables import sections
from .figure_words import rise_text
from .length_text import length_section, listed
from .not_closed import not_closed
from .photo_sizes import BESIDE_PT, THIRD_PT, goes_beside, rows_of, size_of
from .pictures import Picture
from .sight_section import sight_section
from .summary import ended_by, summary, way
from .texts import counter_resets, number
from .trace_table import look_text
from .warned import MAX_WARNINGS, all_warnings, on_page_one
from .words import GLOSSARY, limits

NOT_SHOWN = {
    "missing": "This photo is still on a phone, or lost.",
    "damaged": "This photo was damaged and is left out.",
    "file_only": "This photo cannot be shown here; it is in the pack as a file.",
}
Pictures = dict[str, tuple[str, Picture]]  # sha256 -> file below the report's folder, picture
Drawings = dict[str, list[str]]  # run's id -> strips; run's id and "plan" -> the plan


def report_data(contents: PackContents, pictures: Pictures, drawings: Drawings) -> dict[str, Any]:
    """Return what the template prints."""
    states = [picture.state for _, picture in pictures.values()]
    counts = {state: states.count(state) for state in NOT_SHOWN}
    in_runs = {p.record_id for run in contents.runs for p in run.photos}
    in_runs |= {p.record_id for run in contents.runs for o in run.observations for p in o.photos}
    surveyed = f"Surveyed on {contents.surveyed_on}" if contents.surveyed_on else "Survey date not recorded"
    warned = all_warnings(contents, counts)
    parts = [contents.purpose, surveyed, f"by {contents.surveyor}" if contents.surveyor else ""]
    return {
        "title": contents.title,
        "author": contents.surveyor or "not recorded",
        "subtitle": " · ".join(p for p in parts if p),
        "site": contents.site,
        "footer": f"Records as of {stamp(contents.dated_at)}",
        "warnings": [one.as_data() for one in on_page_one(warned)],
        "all_warnings": [one.as_data() for one in warned] if len(warned) > MAX_WARNINGS else [],
        "summary": summary(contents, counts["missing"]),
        "condition": condition_data(contents),
        "runs": [_run(run, pictures, drawings) for run in contents.runs],
        "facts": [list(f) for f in contents.facts],
        "nodes": [_node(n) for n in contents.nodes],
        "checks": [_check(c) for c in contents.checks],
        "safety_note": contents.safety_note,
        "safety": [[s.question, _answer(s.answer, s.as_hoped), s.remark] for s in contents.safety],
        "cautions": [[c[0][:1].upper() + c[0][1:], c[1], f"{c[2]} ({c[3]})"] for c in contents.cautions],
        "limits": limits(contents),
        "remarks": [r.text for r in contents.remarks],
        "photos": rows_of([_photo(p, pictures) for p in contents.photos if p.record_id not in in_runs]),
        "conflicts": [[c.where, c.field, c.shown, "; ".join(c.others)] for c in contents.conflicts],
        "aside": [[a.entry, f"{a.kind}, {a.device}", " ".join(a.reasons)] for a in contents.rejected],
        "not_closed": _section(not_closed(contents)),
        "devices": [
            [d.device_id, str(d.openings), str(d.entries), stamp(d.first_at), stamp(d.last_at)]
            for d in contents.devices
        ],
        "changes_note": _changes_note(contents),
        "glossary": [list(g) for g in GLOSSARY],
    }


def stamp(value: str) -> str:
    """Return date and time to the minute, with the offset if it is not that of UTC."""
    offset = value[-6:] if value[-6:-5] in "+-" and value[-3:-2] == ":" else ""
    zone = " UTC" if offset in ("+00:00", "") else f" UTC{offset.replace('-', texts.MINUS)}"
    return f"{value[:10]} {value[11:16]}{zone}"


def _changes_note(contents: PackContents) -> str:
    gone = "1 record was" if contents.removed == 1 else f"{contents.removed} records were"
    removed = f" {gone} removed; job.json keeps what was recorded." if contents.removed else ""
    return (
        f"{contents.entries} entries make these records; none was ever changed, and all are in job.json."
        f"{removed} Times are those of the phones' clocks. Job {contents.job_id}."
    )


def _answer(answer: str, as_hoped: bool | None) -> str:
    return f"{answer} – attend to this" if as_hoped is False else answer


def _run(run: Run, pictures: Pictures, drawings: Drawings) -> dict[str, Any]:
    return {
        "ref": run.ref,
        "way": way(run),
        "facts": _run_facts(run),
        "svgs": drawings.get(run.record_id, []),
        "alt": _drawing_words(run),
        "drawing_note": _drawing_note(run),
        "sections": {s.key: _section(s) for s in _sections(run)},
        "plan": "".join(drawings.get(f"{run.record_id} plan", [])),
        "plan_alt": _plan_words(run),
        "stretches": [_stretch(s) for s in run.stretches],
        "observations": [_observation(o, pictures) for o in run.observations],
        "remarks": [_remark(r.chainage_m, r.text) for r in run.remarks],
        "photos": rows_of([_photo(p, pictures) for p in run.photos]),
        "readings": [_reading(r, run) for r in run.readings],
        "readings_note": "An arrow shows the way of the fall: → ahead, ← back to the start. Plus is rising "
        "ahead. Counter and inclination are measured, as typed; the last two columns are about the level."
        f"{_corrected(run)}{_turned(run)}",
        "findings": [sentence for _, sentence in run.findings],
    }


def _corrected(run: Run) -> str:
    """What the checks do to what was typed, where both stand side by side."""
    verdict = verdict_text(run.figures.instruments)
    return f" {verdict}" if verdict else ""


def _turned(run: Run) -> str:
    """Whose readings were taken looking the other way."""
    if run.length is None or not run.length.joined:
        return ""
    refs = listed(one.ref for one in run.length.runs if one.from_other_end)
    return f" Those of {refs} were typed looking from the other end." if refs else ""


def _sections(run: Run) -> list[Section]:
    return [length_section(run), sight_section(run), *sections(run), *condition_sections(run)]


def _section(s: Section) -> dict[str, Any]:
    return {
        "title": s.title, "header": list(s.header), "rows": [list(r) for r in s.rows], "right": list(s.right),
        "wide": s.wide, "parts": list(s.parts), "lines": list(s.lines), "note": s.note,
    }  # fmt: skip


def _start_level(run: Run) -> str:
    if not run.figures.levels:
        return "not known"
    first = run.figures.levels[0]
    if not run.figures.absolute:
        return "not known: levels are above the start of the run"
    sd = f", sd {spread_text(first.sd_m)}" if first.sd_m is not None else ""
    return f"{texts.level(first)} m above the datum{sd} ({texts.level_known(first)})"


def _plan_words(run: Run) -> str:
    trace = run.figures.trace
    bends = len(trace.bends) if trace else 0
    look = look_text(run) or "Where its end lies is not known."
    shown = "with north arrow, scale bar and the 95 % ellipse of its end"
    return f"Plan of run {run.ref} {shown}; {bends} bends. {look}"


def _remark(chainage_m: float | None, words: str) -> str:
    return f"At {number(chainage_m, 2, 'm')}: {words}" if chainage_m is not None else words


def _run_facts(run: Run) -> list[list[str]]:
    bearing = run.start_bearing
    turned = f"{short_text(bearing['bearing_deg'])}° from {bearing['north']} north" if bearing else ""
    spread = ", its sd not recorded (measured)" if bearing else ""
    if bearing and (sd_deg := bearing.get("sd_deg")) is not None:
        spread = f", sd {short_text(sd_deg)}° (measured)"
    rows = [
        ["Surveyed length", f"{number(run.surveyed_m, 2, 'm') or 'not known'} ({run.surveyed_known})"],
        [
            "Length expected",
            f"{number(run.expected_m, 2, 'm')} (assumed: plan or tape)" if run.expected_m else "",
        ],
        ["How it ended", ended_by(run)[0]],
        ["Chainage is measured from", run.datum_label],
        [
            "Counter",
            f"zero at {number(run.counter_zero_m, 2, 'm')} ({run.zero_known})",
        ],
        ["Counter reset", counter_resets(run)],
        ["Instrument checks", verdict_text(run.figures.instruments)],
        ["Start level", _start_level(run)],
        ["Start bearing", turned + spread],
        ["Remark", run.remark],
    ]
    return [r for r in rows if r[1]]


def _drawing_words(run: Run) -> str:
    change = rise_text(run.figures.rise)
    bounds = " From a reading beyond the range on the levels are bounds." if run.over_range else ""
    count = sum(1 for r in run.readings if r.level is not None)
    return (
        f"Levels drawing of run {run.ref}: invert level against chainage over "
        f"{number(run.surveyed_m, 2, 'm')} from {count} readings. "
        f"From start to end the invert {change}.{bounds} "
        f"{len(run.observations)} observations are marked. The tables below hold the same numbers."
    )


def _drawing_note(run: Run) -> str:
    parts = [
        "Solid line: invert, computed from the readings (circles), in its 95 % band (tinted). "
        "Dotted: assumed."
    ]
    if run.over_range:
        parts.append(
            "Dashed with a hatched band: bounded; the true line lies on the hatched side or on the dashes."
        )
    if run.figures.ties:
        parts.append("Triangles: level ties.")
    if run.figures.sags:
        parts.append("Blue: standing water, computed.")
    if any(o.finish_m is not None for o in run.observations):
        parts.append("Bars at the top, each from end to end: something continuous.")
    return " ".join(parts)


TO_KNOWN = {"start_of_next": ", where the next begins", "end_of_run": ", where the run ends"}


def _stretch(s: Any) -> list[str]:
    size = number(s.height_mm, 0, "mm")
    if s.width_mm is not None:
        size = f"{size} × {number(s.width_mm, 0, 'mm')}"
    single = f"{short_text(s.pipe_unit_length_m)} m each" if s.pipe_unit_length_m else "Not known"
    unsettled = f". Not settled: {'; '.join(s.disputed)}" if s.disputed else ""
    return [
        f"{number(s.from_m, 2)} to {number(s.to_m, 2) or 'not known'} m{TO_KNOWN.get(s.to_known, '')}",
        f"{s.shape or 'Not known'} {size}".strip(),
        s.size_known, s.material or "Not known", s.lining or "Not known",
        f"{single}{unsettled}{'. ' + s.remark if s.remark else ''}",
    ]  # fmt: skip


def _observation(o: Observation, pictures: Pictures) -> dict[str, Any]:
    level = f"{texts.LEVEL_OF} {texts.level(o.level)} m ({texts.level_known(o.level)})" if o.level else ""
    joint = "at a joint" if o.at_joint else ""
    turns = f"the pipe turns: {o.turns_to.lower()}" if o.turns_to else ""
    told = f"recorded in run {o.run_ref}" if o.run_ref else ""
    repeated = "counted once: seen in two runs" if o.same_as else ""
    details = [
        texts.clock(o),
        texts.sizes(o),
        turns,
        joint,
        texts.continuous(o),
        *texts.further(o),
        level,
        told,
        repeated,
    ]
    beside = goes_beside([pictures[p.sha256][1] for p in o.photos])
    return {
        "at": number(o.chainage_m, 2, "m") or "no place",
        "counter": f"counter {number(o.counter_m, 2)}" if o.counter_m is not None else "",
        "title": o.title,
        "code": o.compact,
        "words": "; ".join(o.words),
        "details": " · ".join(d for d in details if d),
        "remark": o.remark,
        "disputed": o.disputed,
        "photos": rows_of([_photo(p, pictures, BESIDE_PT if beside else THIRD_PT) for p in o.photos]),
        "beside": beside,
    }


def _photo(p: Photo, pictures: Pictures, place_pt: float = THIRD_PT) -> dict[str, Any]:
    file, picture = pictures[p.sha256]
    size = size_of(picture, place_pt).as_data()
    place = number(p.chainage_m, 2, "m")
    caption = ", ".join(c for c in (p.caption, place, stamp(p.taken_at) if p.taken_at else "") if c)
    caption = caption or "No caption"
    if picture.state:
        return {"file": "", "alt": "", "caption": f"{caption}. {NOT_SHOWN[picture.state]}", "size": size}
    where = f" in run {p.run_ref}" if p.run_ref else ""
    return {"file": file, "alt": f"Photo{where}: {caption}", "caption": caption, "size": size}


def _reading(r: Any, run: Run) -> list[str]:
    raw = r.inclination or {}
    typed = raw.get("typed") or ""
    if r.over:
        typed = f"beyond range, {raw.get('sense', '')}"
    elif typed or raw:
        typed = f"{typed or short_text(raw.get('size', 0))} {raw.get('sense', '')}".strip()
    mark = " *" if r.disputed else ""
    instruments = run.figures.instruments
    gradient = f"{texts.one_in(r, instruments.limit_deg, instruments.limit_known)} {texts.arrow(r)}".strip()
    return [
        _counter(r), number(r.chainage_m, 2), f"{typed or 'not recorded'}{mark}", gradient,
        texts.percent(r), texts.degrees(r), texts.level(r.level),
        spread_text(r.level.sd_m) if r.level else "", _reading_known(r),
    ]  # fmt: skip


def _counter(r: Any) -> str:
    told = texts.counter_in_file(r)
    return f"{number(r.counter_m, 2)} ({told})" if told else number(r.counter_m, 2)


def _reading_known(r: Any) -> str:
    if not r.level:
        return "no level" if r.inclination else "not known"
    return texts.level_known(r.level)


def _node(n: Node) -> list[str]:
    place = n.position_note
    if n.position:
        radius = radius_95_m(n.position)
        near = f" ± {decimal_text(radius, 1)} m (95 %)" if radius is not None else ""
        source = f", {n.position['source']}" if n.position.get("source") else ""
        where = f"{n.position['lat_deg']:.5f}°, {n.position['lon_deg']:.5f}°{near}{source}".replace(
            "-", texts.MINUS
        )
        place = f"{where}. {place}".strip()
    return [
        n.ref, n.type_label, number(n.cover_level_m, 3, "m"), number(n.dipped_depth_m, 3, "m"),
        number(n.invert_m, 3, "m"), place or "Place not recorded",
    ]  # fmt: skip


def _check(c: Any) -> list[str]:
    name = f"{c.label}{f' (run {c.run_ref})' if c.run_ref else ''}"
    recorded = "; ".join(f"{label}: {value}" for label, value in c.facts)
    if c.instrument:
        recorded = f"{recorded}. {c.instrument}" if recorded else c.instrument
    return [name, recorded, " ".join([*c.follows, c.remark]).strip()]
