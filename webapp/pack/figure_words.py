"""The figures of a run in sentences: the words that the phone uses for them too."""

from collections.abc import Iterable

from ..report_model.figures import (
    Backfall,
    Blunder,
    Capacity,
    Figures,
    LengthRow,
    Rise,
    Sag,
    WaterSeen,
    WholeRun,
)
from ..survey.instruments.check_verdicts import verdict_text, within_usual
from ..survey.numbers.decimals import decimal_text, signed_text
from ..survey.wording import water_words
from ..survey.wording.figure_words import (
    change_text,
    crown_text,
    gap_text,
    litres_text,
    place_text,
    surcharge_text,
    suspect_text,
)
from ..survey.wording.figure_words import settle_text as settle_words
from ..survey.wording.reasons import code_words
from ..survey.wording.wording import at_least_text, known_word, metres

MISSING = {
    "start_position": "position of the start node",
    "start_bearing": "bearing at the start",
    "declination": "magnetic declination",
    "convergence": "grid convergence",
    "length": "a length: a reading or an observation",
}
NORTHS = {"true": "true north", "magnetic": "magnetic north", "grid": "grid north"}
FIGURES = {
    "levels": "levels", "falls": "falls", "far_tie": "effect of a further tie", "capacity": "capacity",
    "water": "standing water", "trace": "trace",
}  # fmt: skip
INDICATION = (
    "Indication for a competent engineer: the steady flow at which the water first reaches the crown, with "
    "the outlet just full, from levels, size and roughness as far as they are known."
)


def known_text(known: str) -> str:
    """Return the word for how a number is known, contradictions by the ties included."""
    return "contradicted by the level ties" if known == "contradicted" else known_word(known)


def rise_text(rise: Rise | None) -> str:
    """Return a change of level: ``falls 0.441 m, sd 0.015 m`` or what its bounds say."""
    if rise is None:
        return "not known"
    return (
        at_least_text(rise.low_m, rise.high_m)
        if rise.value_m is None
        else change_text(rise.value_m, rise.sd_m)
    )


def fall_text(row: LengthRow) -> str:
    """Return the fall of a length, without its spread: that has a column of its own."""
    if row.fall_m is not None:
        return at_least_text(-row.fall_m, -row.fall_m)
    low = None if row.high_fall_m is None else -row.high_fall_m
    high = None if row.low_fall_m is None else -row.low_fall_m
    return at_least_text(low, high)


def flow_text(m3_s: float | None) -> str:
    """Return a flow in litres a second, to three figures or so."""
    return "no number" if m3_s is None else f"{litres_text(m3_s)} l/s"


def capacity_text(row: Capacity | WholeRun) -> str:
    """Return what a stretch or a run carries, with its band or its bounds."""
    low, mean, high = row.low_m3_s, row.mean_m3_s, row.high_m3_s
    if mean is not None:
        if low is not None and high is not None:
            return f"{flow_text(mean)}, 95 % band {litres_text(low)} to {flow_text(high)}"
        return f"{flow_text(mean)}, at most {flow_text(high)}" if high is not None else flow_text(mean)
    if low is not None and high is not None:
        return f"between {litres_text(low)} and {flow_text(high)}"
    if low is not None:
        return f"at least {flow_text(low)}"
    return f"at most {flow_text(high)}" if high is not None else "no number"


def whole_run_lines(figures: Figures) -> list[str]:
    """Return what holds the water of a run up, and when it would stand at the cover."""
    whole = figures.whole_run
    if whole is None:
        return []
    lines = [] if whole.first_full_m is None else [crown_text(whole.first_full_m)]
    if (over := whole.surcharge) is not None:
        lines.append(
            surcharge_text(over.discharge_m3_s, over.low_m3_s, over.high_m3_s, over.node, over.level_m)
        )
    return lines


def gradient_text(row: Capacity) -> str:
    """Return the gradient of a stretch along the flow in percent, with its band or bounds."""
    low, mean, high = (
        None if g is None else signed_text(100 * g, 2)
        for g in (row.gradient_low, row.gradient, row.gradient_high)
    )
    if mean is not None:
        band = f"{mean} % (95 % band {low} to {high} %)"
        whole = None if row.whole_gradient is None else signed_text(100 * row.whole_gradient, 2)
        return band if whole in (None, mean) else f"{whole} % from end to end; flattest reach {band}"
    if low is None and high is None:
        return "not known"
    if row.gradient_low is not None and row.gradient_low > 0:
        return f"at least {low} %"
    return f"{low or 'no bound'} to {high or 'no bound'} %"


def backfall_text(one: Backfall) -> str:
    """Return a backfall as a sentence."""
    return water_words.backfall_text(one.from_m, one.to_m, one.rise_m, one.sd_m, one.sure, one.at_least)


def sag_text(one: Sag) -> str:
    """Return a sag as a sentence."""
    return water_words.sag_text(
        one.from_m, one.to_m, one.depth_m, one.sd_m, one.low_m, one.sure, one.at_least
    )


def water_text(one: WaterSeen) -> str:
    """Return a comparison of the water seen with the levels."""
    seen = water_words.seen_text(one.chainage_m, one.observed_m, one.sd_m, one.computed_m)
    return f"{seen} {water_words.verdict_text(one.verdict)}"


def blunder_text(one: Blunder) -> str:
    """Return what most looks like a slip."""
    return suspect_text(one.kind, one.from_m, one.to_m, one.size_m, one.standardised)


def settle_text(figures: Figures) -> str:
    """Return what a level at the far end would settle; empty where there is nothing to."""
    tie = figures.far_tie
    if tie is None or tie.then_sd_m is None:
        return ""
    words = settle_words(tie.tie_sd_m, tie.now_sd_m, tie.then_sd_m, tie.both_ends)
    if tie.bounded_now > tie.bounded_then:
        words += f"; of {tie.bounded_now} stations with bounds only, {tie.bounded_then} would be left"
    return f"{words}."


def figure_findings(figures: Figures) -> Iterable[tuple[str, str]]:
    """Return what is wrong or refused in the figures of a run: severity and sentence."""
    if not all(within_usual(figures.instruments)):
        yield "warn", verdict_text(figures.instruments)
    for figure, code in figures.trouble:
        yield "warn", f"The {FIGURES.get(figure, figure)} cannot be computed. {code_words(code)}"
    for tie in figures.ties:
        if tie.left_out:
            at = f" at counter {place_text(tie.counter_m)} m" if tie.counter_m is not None else ""
            yield "warn", f"The level tie{at} takes no part in the levels. {code_words(tie.left_out)}"
    for blunder in figures.blunders:
        yield "warn", blunder_text(blunder)
    for gap in figures.gaps:
        if not gap.consistent:
            yield "warn", gap_text(gap.chainage_m, gap.low_deg if gap.deg is None else gap.deg)
    for row in figures.lengths:
        if row.known == "contradicted":
            where = f"{place_text(row.from_m)} and {place_text(row.to_m)} m"
            yield (
                "warn",
                f"The level ties between {where} are further apart than the pipe between them is long.",
            )
    check = figures.far_check
    if check is not None and check.flagged:
        yield (
            "warn",
            f"The counter differs from the length expected by {signed_text(check.difference_m, 2)} m "
            f"({signed_text(check.difference_pct, 1)} %), more than the {metres(check.allowed_m, None)} "
            f"allowed. A factor of {decimal_text(check.factor, 4)} would close it; it is not applied.",
        )
    if figures.trace is not None:
        for _, code in figures.trace.left_out:
            yield "warn", f"A turn is not followed by the trace, but widens its ellipse. {code_words(code)}"
        if figures.trace.tie_suspect:
            yield (
                "warn",
                "The trace and the position of the finish node are further apart than 95 times in 100: check "
                "bends, bearing and both positions.",
            )
