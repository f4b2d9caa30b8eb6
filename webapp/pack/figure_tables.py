"""The figures of a run as tables of text, for the report and for the command line alike."""

from ..report_model.figures import Figures
from ..report_model.levels import Gap, Tie
from ..report_model.run import Run
from ..report_model.section import Row, Section, heads
from ..survey.levels.checks import BLUNDER_AT
from ..survey.levels.input import NOT_READ
from ..survey.wording.checks import usual_text, verdict_text
from ..survey.wording.figures import code_reason
from ..survey.wording.messages import Words, message, sentences
from ..survey.wording.quantities import (
    change_text,
    degrees_text,
    fixed_signed_text,
    fixed_text,
    known_word,
    length_text,
    metres,
    one_in_text,
    percent_text,
    place_text,
    spread_text,
    times_text,
    volume_text,
)
from .capacity_table import capacity_section
from .figure_words import (
    backfall_line,
    blunder_text,
    fall_text,
    known_text,
    sag_line,
    settle_line,
    water_text,
)
from .texts import level, level_known, number
from .trace_table import trace_section

DOUBTFUL_AT = 2.0  # standard deviations


def sections(words: Words, run: Run) -> list[Section]:
    """Return every table of the figures of a run, in the order in which they are read."""
    makers = (_instruments, _levels, _ties, _gaps, _falls, _water, capacity_section)
    return [*(make(words, run.figures) for make in makers), trace_section(words, run)]


def _title(words: Words, key: str) -> str:
    return message(words, f"pack.{key}.title", {})


def _deg(words: Words, deg: float, places: int) -> str:
    return message(words, "survey.gradient.degrees", {"deg": fixed_text(words, deg, places)})


def _instruments(words: Words, figures: Figures) -> Section:
    instruments = figures.instruments
    rows = [
        (
            "scale",
            fixed_text(words, instruments.scale, 5),
            fixed_text(words, instruments.scale_sd, 5),
            instruments.scale_known,
        ),
        ("limit", _deg(words, instruments.limit_deg, 1), "", instruments.limit_known),
        ("one_reading", "", _deg(words, instruments.sd_deg, 2), instruments.sd_known),
        (
            "zero",
            degrees_text(words, instruments.zero_deg),
            _deg(words, instruments.zero_sd_deg, 2),
            instruments.zero_known,
        ),
    ]
    if figures.zero_deg is not None and figures.zero_sd_deg is not None and len(figures.ties) > 1:
        zero = (degrees_text(words, figures.zero_deg), _deg(words, figures.zero_sd_deg, 2))
        rows.append(("zero_of_ties", *zero, "computed"))
    named = tuple(
        (message(words, f"pack.instruments.{name}", {}), value, sd, known_word(words, provenance))
        for name, value, sd, provenance in rows
    )
    note = message(words, "pack.instruments.note", {})
    verdict = verdict_text(words, instruments)
    if verdict:
        note = sentences(words, (note, usual_text(words)))
    header = heads(words, "instrument", "value", "sd", "known")
    lines = (verdict,) if verdict else ()
    return Section("instruments", _title(words, "instruments"), header, named, (1, 2), 0, (), lines, note)


def _levels(words: Words, figures: Figures) -> Section:
    rows = tuple(
        (
            place_text(words, one.chainage_m), level(words, one), spread_text(words, one.sd_m),
            number(words, one.band_low_m, 3), number(words, one.band_high_m, 3), level_known(words, one),
        )
        for one in figures.levels
    )  # fmt: skip
    note = message(words, f"pack.levels.{'above_datum' if figures.absolute else 'above_start'}", {})
    header = heads(words, "chainage", "invert", "sd", "band_from", "band_to", "known")
    return Section("levels", _title(words, "levels"), header, rows, (0, 1, 2, 3, 4), 5, note=note)


def _ties(words: Words, figures: Figures) -> Section:
    lines = [blunder_text(words, b) for b in figures.blunders]
    if settle := settle_line(words, figures):
        lines.append(settle)
    names = ("chainage", "measured", "sd", "adjusted", "how_measured", "before", "after", "against_the_rest")
    rows = tuple(_tie(words, t) for t in figures.ties)
    note = message(words, "pack.ties.note", {}) if rows else ""
    title, header = _title(words, "ties"), heads(words, *names)
    return Section("ties", title, header, rows, (0, 1, 3), 7, (), tuple(lines), note)


def _tie(words: Words, t: Tie) -> Row:
    at = place_text(words, t.chainage_m) if t.chainage_m is not None else ""
    spread = message(words, "survey.not_known", {})
    if t.sd_m is not None:
        values = {"value": spread_text(words, t.sd_m), "known": known_word(words, t.sd_known)}
        spread = message(words, "pack.value_known", values)
    head = (at, number(words, t.invert_level_m, 3), spread, number(words, t.adjusted_m, 3), t.method)
    if t.left_out:
        out = (message(words, "pack.ties.left_out", {}), code_reason(words, t.left_out), t.remark)
        return (*head, "", "", sentences(words, out))
    if t.rest_m is None or t.standardised is None:
        against = message(words, "pack.ties.alone", {})
    else:
        values = {
            "rest": _signed(words, t.rest_m),
            "sd": spread_text(words, t.rest_sd_m),
            "times": times_text(words, t.standardised),
        }
        fits = message(words, f"pack.ties.{_fit(t.suspect, abs(t.standardised))}", {})
        against = sentences(words, (message(words, "pack.ties.rest", values), fits))
    return (
        *head,
        _signed(words, t.before_m),
        _signed(words, t.after_m),
        sentences(words, (against, t.remark)),
    )


def _fit(suspect: bool, size: float) -> str:
    if suspect:
        return "does_not_fit"
    if size > BLUNDER_AT:
        return "does_not_fit_either"
    return "fits" if size <= DOUBTFUL_AT else "doubtful"


def _signed(words: Words, value_m: float | None) -> str:
    return (
        ""
        if value_m is None
        else message(words, "survey.metres", {"m": fixed_signed_text(words, value_m, 3)})
    )


def _gaps(words: Words, figures: Figures) -> Section:
    rows = tuple(_gap(words, g) for g in figures.gaps if g.over != NOT_READ)
    header = heads(words, "chainage", "from", "to", "reading", "change", "inclination", "known")
    note = message(words, "pack.gaps.note", {}) if rows else ""
    return Section("gaps", _title(words, "gaps"), header, rows, (0, 1, 2), 6, note=note)


def _gap(words: Words, g: Gap) -> Row:
    slope = ""
    if g.status == "solved" and g.rise_m is not None:
        what = change_text(words, g.rise_m, g.sd_m)
        if g.deg is not None:
            values = {"deg": degrees_text(words, g.deg), "sd": _deg(words, g.sd_deg or 0.0, 2)}
            slope = message(words, "pack.gaps.slope", values)
        provenance = message(words, f"pack.gaps.{'computed' if g.consistent else 'contradicted'}", {})
    else:
        what = _least(words, g.low_m, g.high_m)
        steep = g.low_deg if g.over > 0 else g.high_deg
        if steep is not None and (steep > 0) == (g.over > 0):
            slope = message(words, "pack.gaps.at_least", {"deg": fixed_text(words, abs(steep), 1)})
        bounded = known_word(words, "bounded")
        provenance = bounded if g.consistent else message(words, "pack.gaps.bounded_contradicted", {})
    way = message(words, f"pack.gaps.{'rising' if g.over > 0 else 'falling'}", {})
    return (
        place_text(words, g.chainage_m),
        place_text(words, g.from_m),
        place_text(words, g.to_m),
        way,
        what,
        slope,
        provenance,
    )


def _least(words: Words, low_m: float | None, high_m: float | None) -> str:
    if low_m is not None and low_m >= 0:
        return message(words, "survey.change.rises_at_least", {"m": fixed_text(words, low_m, 3)})
    if high_m is not None and high_m <= 0:
        return message(words, "survey.change.falls_at_least", {"m": fixed_text(words, -high_m, 3)})
    return message(words, "survey.not_known", {})


def _falls(words: Words, figures: Figures) -> Section:
    rows = tuple(
        (
            place_text(words, r.from_m), place_text(words, r.to_m),
            fall_text(words, r), spread_text(words, r.sd_m),
            one_in_text(words, r.deg) if r.deg is not None else "",
            percent_text(words, r.deg) if r.deg is not None else "",
            degrees_text(words, r.deg) if r.deg is not None else "",
            _deg(words, r.sd_deg, 2) if r.sd_deg is not None else "", known_text(words, r.known),
        )
        for r in figures.lengths
    )  # fmt: skip
    right, parts = (0, 1, 3, 5, 6, 7), (0.65, 0.65, 1.5, 0.75, 1.35, 0.85, 0.85, 0.65, 1.05)
    header = heads(words, "from", "to", "fall", "sd", "gradient", "percent", "degrees", "sd", "known")
    note = message(words, "pack.falls.note", {})
    return Section("falls", _title(words, "falls"), header, rows, right, 2, parts, note=note)


def _water(words: Words, figures: Figures) -> Section:
    lines = [backfall_line(words, b) for b in figures.backfalls]
    lines += [sag_line(words, s) for s in figures.sags]
    if figures.levels and not lines:
        lines.append(message(words, "pack.water.none", {}))
    lines += [water_text(words, w) for w in figures.water]
    rows = []
    for s in figures.sags:
        provenance = [message(words, f"pack.water.{'bounded' if s.at_least else 'computed'}", {})]
        provenance += [message(words, "pack.water.open_end", {})] if s.open_end else []
        provenance += [message(words, "pack.water.fills", {})] if s.fills else []
        depth = metres(words, s.depth_m, s.sd_m)
        if s.at_least:
            depth = message(words, "pack.water.at_least", {"depth": depth})
        where = message(
            words, "survey.span", {"low": place_text(words, s.from_m), "high": place_text(words, s.to_m)}
        )
        length, volume = length_text(words, s.length_m, 2), volume_text(words, s.volume_m3)
        rows.append((where, depth, place_text(words, s.low_m), length, volume, sentences(words, provenance)))
    header = heads(words, "standing_water", "depth_m", "deepest", "length", "volume", "known")
    note = message(words, "pack.water.note", {})
    if figures.water:
        note = sentences(words, (note, message(words, "pack.water.running", {})))
    title = _title(words, "water")
    return Section("water", title, header, tuple(rows), (2,), 5, (), tuple(lines), note)
