"""The figures of a run as tables of text, for the report and for the command line alike."""

from ..report_model.contents import Run
from ..report_model.figures import Capacity, Figures, Tie
from ..report_model.plain_values import short_text
from ..report_model.section import Row, Section
from ..survey.instruments.check_verdicts import USUAL_TEXT, verdict_text
from ..survey.levels.checks import BLUNDER_AT
from ..survey.levels.input import NOT_READ
from ..survey.numbers.decimals import decimal_text, signed_text
from ..survey.wording.figure_words import (
    crown_text,
    place_text,
    reason_text,
    spread_text,
    times_text,
)
from ..survey.wording.reasons import code_words
from ..survey.wording.water_words import volume_text
from ..survey.wording.wording import degrees_text, known_word, metres, one_in_text, percent_text
from .figure_words import (
    INDICATION,
    backfall_text,
    blunder_text,
    capacity_text,
    fall_text,
    gradient_text,
    known_text,
    sag_text,
    settle_text,
    water_text,
    whole_run_lines,
)
from .texts import level, level_known, number
from .trace_table import trace_section

DOUBTFUL_AT = 2.0  # standard deviations


def sections(run: Run) -> list[Section]:
    """Return every table of the figures of a run, in the order in which they are read."""
    return [
        _instruments(run.figures), _levels(run.figures), _ties(run.figures), _gaps(run.figures),
        _falls(run.figures), _water(run.figures), _capacity(run.figures), trace_section(run),
    ]  # fmt: skip


def _instruments(figures: Figures) -> Section:
    instruments = figures.instruments
    rows = [
        (
            "Counter scale (true length over counter length)",
            decimal_text(instruments.scale, 5),
            decimal_text(instruments.scale_sd, 5),
            known_word(instruments.scale_known),
        ),
        (
            "Inclinometer, limit",
            f"{decimal_text(instruments.limit_deg, 1)}°",
            "",
            known_word(instruments.limit_known),
        ),
        (
            "Inclinometer, one reading",
            "",
            f"{decimal_text(instruments.sd_deg, 2)}°",
            known_word(instruments.sd_known),
        ),
        (
            "Inclinometer, zero error",
            f"{signed_text(instruments.zero_deg, 2)}°",
            f"{decimal_text(instruments.zero_sd_deg, 2)}°",
            known_word(instruments.zero_known),
        ),
    ]
    if figures.zero_deg is not None and figures.zero_sd_deg is not None and len(figures.ties) > 1:
        rows.append(
            (
                "Zero error that the level ties add",
                f"{signed_text(figures.zero_deg, 2)}°",
                f"{decimal_text(figures.zero_sd_deg, 2)}°",
                "computed",
            )
        )
    note = "Assumed values are common practice, without a source; a check replaces each of them."
    verdict = verdict_text(instruments)
    if verdict:
        note = f"{note} {USUAL_TEXT}"
    header = ("Instrument", "Value", "sd", "Known")
    lines = (verdict,) if verdict else ()
    return Section("instruments", "Instruments", header, tuple(rows), (1, 2), 0, (), lines, note)


def _levels(figures: Figures) -> Section:
    rows = []
    for one in figures.levels:
        low, high = number(one.band_low_m, 3), number(one.band_high_m, 3)
        rows.append(
            (place_text(one.chainage_m), level(one), spread_text(one.sd_m), low, high, level_known(one))
        )
    above = "the job's datum" if figures.absolute else "the start of the run (no level tie)"
    note = f"Invert above {above}, in m. The band holds the true level 95 times in 100."
    header = ("Chainage, m", "Invert, m", "sd", "Band from, m", "Band to, m", "Known")
    return Section("levels", "Levels", header, tuple(rows), (0, 1, 2, 3, 4), 5, note=note)


def _ties(figures: Figures) -> Section:
    lines = [blunder_text(b) for b in figures.blunders]
    if settle := settle_text(figures):
        lines.append(settle)
    note = (
        "Before: tie less the readings alone, carried from the first tie. After: tie less the adjusted "
        "level. Against the rest: tie less what everything else says of it, and how many standard deviations "
        "that is."
    )
    header = (
        "Chainage, m", "Measured, m", "sd", "Adjusted, m", "How measured", "Before", "After",
        "Against the rest",
    )  # fmt: skip
    rows = tuple(_tie(t) for t in figures.ties)
    return Section("ties", "Level ties", header, rows, (0, 1, 3), 7, (), tuple(lines), note if rows else "")


def _tie(t: Tie) -> Row:
    at = place_text(t.chainage_m) if t.chainage_m is not None else ""
    known = f" ({known_word(t.sd_known)})" if t.sd_m is not None else ""
    spread = f"{spread_text(t.sd_m) or 'not known'}{known}"
    head = (at, number(t.invert_level_m, 3), spread, number(t.adjusted_m, 3), t.method)
    if t.left_out:
        return (*head, "", "", f"Takes no part. {code_words(t.left_out)} {t.remark}".strip())
    if t.rest_m is None or t.standardised is None:
        against = "Nothing else checks it."
    else:
        against = f"{_signed(t.rest_m)}, sd {spread_text(t.rest_sd_m)}: {times_text(t.standardised)} sd."
        against += f" {_verdict(t.suspect, abs(t.standardised))}"
    return (*head, _signed(t.before_m), _signed(t.after_m), f"{against} {t.remark}".strip())


def _verdict(suspect: bool, size: float) -> str:
    if suspect:
        return "It does not fit."
    if size > BLUNDER_AT:
        return "It does not fit either, as long as the suspicious one stands."
    return "It fits." if size <= DOUBTFUL_AT else "Doubtful."


def _signed(value_m: float | None) -> str:
    return "" if value_m is None else f"{signed_text(value_m, 3)} m"


def _gaps(figures: Figures) -> Section:
    rows = []
    for g in figures.gaps:
        if g.over == NOT_READ:
            continue
        way = "rising" if g.over > 0 else "falling"
        if g.status == "solved" and g.rise_m is not None:
            what = f"{'rises' if g.rise_m > 0 else 'falls'} {metres(abs(g.rise_m), g.sd_m)}"
            slope = (
                f"{degrees_text(g.deg)}, sd {decimal_text(g.sd_deg or 0.0, 2)}°" if g.deg is not None else ""
            )
            known = "computed from the level ties" if g.consistent else "contradicted by the level ties"
        else:
            what = _least(g.low_m, g.high_m)
            steep = g.low_deg if g.over > 0 else g.high_deg
            slope = f"at least {decimal_text(abs(steep), 1)}°" if steep is not None else ""
            known = "bounded" if g.consistent else "bounded; contradicted by the level ties"
        rows.append(
            (
                place_text(g.chainage_m),
                place_text(g.from_m),
                place_text(g.to_m),
                f"beyond range, {way}",
                what,
                slope,
                known,
            )
        )
    note = (
        "From the reading before to the next one the inclination is not known otherwise. The change of the "
        "invert is that of the part for which this reading counts: half of the way to either."
    )
    header = ("Chainage, m", "From, m", "To, m", "Reading", "Change of the invert", "Inclination", "Known")
    right = (0, 1, 2)
    return Section(
        "gaps", "Readings beyond the range", header, tuple(rows), right, 6, note=note if rows else ""
    )


def _least(low_m: float | None, high_m: float | None) -> str:
    if low_m is not None and low_m >= 0:
        return f"rises at least {decimal_text(low_m, 3)} m"
    if high_m is not None and high_m <= 0:
        return f"falls at least {decimal_text(-high_m, 3)} m"
    return "not known"


def _falls(figures: Figures) -> Section:
    rows = tuple(
        (
            place_text(r.from_m), place_text(r.to_m), fall_text(r), spread_text(r.sd_m),
            one_in_text(r.deg) if r.deg is not None else "", percent_text(r.deg) if r.deg is not None else "",
            degrees_text(r.deg) if r.deg is not None else "",
            f"{decimal_text(r.sd_deg, 2)}°" if r.sd_deg is not None else "", known_text(r.known),
        )
        for r in figures.lengths
    )  # fmt: skip
    note = (
        "In the direction of survey; plus is rising ahead. Gradients on plan. sd is one standard deviation. "
        "From the inclinometer: an indication, no proof of a gradient."
    )
    right, parts = (0, 1, 3, 5, 6, 7), (0.65, 0.65, 1.5, 0.75, 1.35, 0.85, 0.85, 0.65, 1.05)
    header = ("From, m", "To, m", "Fall", "sd", "Gradient", "Percent", "Degrees", "sd", "Known")
    return Section("falls", "Falls, length by length", header, rows, right, 2, parts, note=note)


def _water(figures: Figures) -> Section:
    lines = [backfall_text(b) for b in figures.backfalls] + [sag_text(s) for s in figures.sags]
    if figures.levels and not lines:
        lines.append("No backfall and no sag is found in these levels.")
    lines += [water_text(w) for w in figures.water]
    rows = []
    for s in figures.sags:
        more = " Goes on beyond the end of the run." if s.open_end else ""
        more += " Reaches the top of the bore." if s.fills else ""
        depth = f"{'at least ' if s.at_least else ''}{metres(s.depth_m, s.sd_m)}"
        known = "bounded" if s.at_least else "computed"
        where = f"{place_text(s.from_m)} to {place_text(s.to_m)}"
        length, volume = f"{place_text(s.length_m)} m", volume_text(s.volume_m3)
        rows.append((where, depth, place_text(s.low_m), length, volume, f"{known}.{more}"))
    header = ("Standing water, m", "Depth", "Deepest at, m", "Length", "Volume", "Known")
    note = "Where water stands when no flow comes, in the direction of flow that is recorded."
    if figures.water:
        note += " The running water is taken as the least depth seen outside the sags (assumed)."
    return Section(
        "water", "Backfalls and standing water", header, tuple(rows), (2,), 5, (), tuple(lines), note
    )


def _capacity(figures: Figures) -> Section:
    rows = tuple(_capacity_row(k, c) for k, c in enumerate(figures.capacities, 1))
    ways = {"with_flow": "in the direction of survey", "against_flow": "against the direction of survey"}
    lines = []
    if rows:
        way = ways.get(figures.flow, "in a direction not known")
        lines.append(f"The water runs {way} ({known_word(figures.flow_known)}).")
    lines += _bottleneck_lines(figures)
    header = ("Stretch", "Bore", "Roughness", "Gradient with the flow", "Carries full", "Known; remarks")
    parts = (0.9, 1.0, 0.8, 1.15, 1.15, 2.6)
    note = INDICATION if rows else ""
    return Section("capacity", "Capacity", header, rows, (), 5, parts, tuple(lines), note)


UNSURE = {
    "fall": "the fall", "roughness": "the roughness", "size": "the size of the bore",
    "narrowing": "the estimated size of what narrows it",
}  # fmt: skip


def _capacity_row(count: int, c: Capacity) -> Row:
    where = (
        f"{place_text(c.from_m)} to {place_text(c.to_m)} m"
        if c.from_m is not None and c.to_m is not None
        else "no ends"
    )
    rough = ""
    if c.roughness_mm is not None:
        rough = f"{number(c.roughness_mm, 2)} mm ({known_word(c.roughness_known)})"
        if c.roughness_low_mm is not None and c.roughness_high_mm is not None:
            rough += f", {short_text(c.roughness_low_mm)} to {short_text(c.roughness_high_mm)} mm"
    remarks = [code_words(c.left_out)] if c.left_out else [f"{known_word(c.known)}."]
    remarks += [one.words for one in c.narrowed_by]
    if c.backfall is not None:
        from_m, to_m, rise_m = c.backfall
        remarks.append(
            f"From {place_text(from_m)} to {place_text(to_m)} m it rises {number(rise_m, 3)} m with the flow."
        )
    if c.first_full_m is not None and not c.left_out:
        remarks.append(crown_text(c.first_full_m))
    if c.unsure:
        remarks.append(f"The band comes most from {UNSURE[c.unsure]}.")
    remarks += [code_words(f) for f in c.findings]
    size = f"{c.bore} ({c.size_known.lower()})" if c.bore else "not known"
    return (f"{count}: {where}", size, rough, gradient_text(c), capacity_text(c), " ".join(remarks))


def _said_beside(figures: Figures) -> bool:
    """Whether the one stretch says itself where the water reaches the crown first."""
    whole = figures.whole_run
    return len(figures.capacities) == 1 and whole is not None and whole.first_full_m is not None


def _bottleneck_lines(figures: Figures) -> list[str]:
    bottleneck = figures.bottleneck
    if bottleneck is None:
        return ["No stretch has a capacity in numbers, so no choke is named."] if figures.capacities else []
    if bottleneck.index is None:
        if any(c.mean_m3_s is not None or c.low_m3_s is not None for c in figures.capacities):
            return ["Where the whole length carries least is not known: not all of it was surveyed."]
        return ["No stretch has a capacity in numbers, so no choke is named."]
    lines = [f"Not for the run as a whole: {code_words(one)}" for one in figures.limits]
    row = figures.capacities[bottleneck.index]
    where = f"{place_text(row.from_m or 0.0)} to {place_text(row.to_m or 0.0)} m"
    what = f"The choke of this run: stretch {bottleneck.index + 1}, {where}, carries least"
    if len(figures.capacities) == 1 and not figures.limits:
        what = f"The run is one stretch, {where}, and carries"
    lines += [f"{what}: {capacity_text(row)}"
             f" ({known_word(row.known)})."]  # fmt: skip
    if figures.whole_run is not None:
        if len(figures.capacities) > 1:
            whole = figures.whole_run
            lines.insert(
                0, f"All stretches together carry {capacity_text(whole)} full ({known_word(whole.known)})."
            )
        lines += whole_run_lines(figures)[1 if _said_beside(figures) else 0 :]
    lines += [reason_text(code, q) for code, q in bottleneck.reasons]
    if bottleneck.rivals:
        listed = ", ".join(str(k + 1) for k in bottleneck.rivals)
        lines.append(f"By the bands it may as well be stretch {listed}.")
    if bottleneck.no_number:
        listed = ", ".join(str(k + 1) for k in bottleneck.no_number)
        lines.append(f"Stretch {listed} has no number and may carry less.")
    return lines
