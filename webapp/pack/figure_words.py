"""The figures of a run in sentences: the words that the phone uses for them too."""

from collections.abc import Iterable

from ..report_model.capacity import Capacity, WholeRun
from ..report_model.figures import Figures
from ..report_model.levels import Blunder, Rise, WaterSeen
from ..survey.levels.falls import LengthRow
from ..survey.levels.ponding import Backfall, Sag
from ..survey.wording.checks import verdict_text, within_usual
from ..survey.wording.figures import (
    backfall_text,
    code_reason,
    crown_text,
    gap_text,
    level_finding_text,
    sag_text,
    seen_text,
    settle_text,
    surcharge_text,
    suspect_text,
    water_verdict,
)
from ..survey.wording.messages import Words, message, sentences
from ..survey.wording.quantities import (
    at_least_text,
    change_parts,
    change_text,
    fixed_signed_text,
    fixed_text,
    known_word,
    litres_text,
    metres,
    place_text,
)


def known_text(words: Words, provenance: str) -> str:
    """Return the word for how a number is known, contradictions by the ties included."""
    if provenance == "contradicted":
        return message(words, "pack.known.contradicted", {})
    return known_word(words, provenance)


def rise_text(words: Words, rise: Rise | None) -> str:
    """Return a change of level: ``falls 0.441 m (sd 0.015 m)`` or what its bounds say."""
    if rise is None:
        return message(words, "survey.not_known", {})
    if rise.value_m is None:
        return at_least_text(words, rise.low_m, rise.high_m)
    return change_text(words, rise.value_m, rise.sd_m)


def rise_parts(words: Words, rise: Rise | None) -> tuple[str, str]:
    """Return a change of level and its standard deviation, each by itself."""
    if rise is None or rise.value_m is None or rise.sd_m is None:
        return rise_text(words, rise), ""
    change, spread = change_parts(words, rise.value_m, rise.sd_m)
    return change, message(words, "pack.sd", {"sd": spread})


def fall_text(words: Words, row: LengthRow) -> str:
    """Return the fall of a length, without its spread: that has a column of its own."""
    if row.fall_m is not None:
        return at_least_text(words, -row.fall_m, -row.fall_m)
    low = None if row.high_fall_m is None else -row.high_fall_m
    high = None if row.low_fall_m is None else -row.low_fall_m
    return at_least_text(words, low, high)


def capacity_text(words: Words, row: Capacity | WholeRun) -> str:
    """Return what a stretch or a run carries, with its band or its bounds."""
    low, mean, high = row.low_m3_s, row.mean_m3_s, row.high_m3_s
    flows = {
        name: litres_text(words, flow)
        for name, flow in (("low", low), ("mean", mean), ("high", high))
        if flow is not None
    }
    if mean is not None:
        which = "one" if high is None else "at_most_mean" if low is None else "band"
    elif low is not None:
        which = "at_least" if high is None else "between"
    else:
        which = "none" if high is None else "at_most"
    return message(words, f"pack.flow.{which}", flows)


def whole_run_lines(words: Words, figures: Figures) -> list[str]:
    """Return what holds the water of a run up, and when it would stand at the cover."""
    whole = figures.whole_run
    if whole is None:
        return []
    lines = [] if whole.first_full_m is None else [crown_text(words, whole.first_full_m)]
    if (over := whole.surcharge) is not None:
        flows = (over.discharge_m3_s, over.low_m3_s, over.high_m3_s)
        lines.append(surcharge_text(words, *flows, over.node, over.level_m))
    return lines


def gradient_text(words: Words, row: Capacity) -> str:
    """Return the gradient of a stretch along the flow in percent, with its band or bounds."""
    none = message(words, "pack.gradient.no_bound", {})
    low, mean, high, whole = (
        none if g is None else fixed_signed_text(words, 100 * g, 2)
        for g in (row.gradient_low, row.gradient, row.gradient_high, row.whole_gradient)
    )
    values = {"low": low, "mean": mean, "high": high, "whole": whole}
    if row.gradient is not None:
        same = row.whole_gradient is None or whole == mean
        return message(words, f"pack.gradient.{'band' if same else 'flattest'}", values)
    if row.gradient_low is None and row.gradient_high is None:
        return message(words, "survey.not_known", {})
    sure = row.gradient_low is not None and row.gradient_low > 0
    return message(words, f"pack.gradient.{'at_least' if sure else 'bounds'}", values)


def backfall_line(words: Words, one: Backfall) -> str:
    """Return a backfall as a sentence."""
    return backfall_text(words, one)


def sag_line(words: Words, one: Sag) -> str:
    """Return a sag as a sentence."""
    return sag_text(words, one)


def water_text(words: Words, one: WaterSeen) -> str:
    """Return a comparison of the water seen with the levels."""
    seen = seen_text(words, one.chainage_m, one.observed_m, one.sd_m, one.computed_m)
    return sentences(words, (seen, water_verdict(words, one.verdict)))


def blunder_text(words: Words, one: Blunder) -> str:
    """Return what most looks like a slip."""
    return suspect_text(words, one.kind, one.from_m, one.to_m, one.size_m, one.standardised)


def settle_line(words: Words, figures: Figures) -> str:
    """Return what a level at the far end would settle; empty where there is nothing to."""
    tie = figures.far_tie
    if tie is None or tie.then_sd_m is None:
        return ""
    line = settle_text(words, tie.tie_sd_m, tie.now_sd_m, tie.then_sd_m, tie.both_ends)
    if tie.bounded_now <= tie.bounded_then:
        return line
    bounded = {"now": str(tie.bounded_now), "then": str(tie.bounded_then)}
    return sentences(words, (line, message(words, "pack.ties.bounded_left", bounded)))


def figure_findings(words: Words, figures: Figures) -> Iterable[tuple[str, str]]:
    """Return what is wrong or refused in the figures of a run: severity and sentence."""
    return (("warn", line) for line in _finding_lines(words, figures))


def _finding_lines(words: Words, figures: Figures) -> Iterable[str]:
    if not all(within_usual(figures.instruments)):
        yield verdict_text(words, figures.instruments)
    for figure, code in figures.trouble:
        key = f"pack.finding.refused.{figure}"
        key = key if key in words else "pack.finding.refused.other"
        yield _with_reason(words, key, code, {"figure": figure})
    for tie in figures.ties:
        if tie.left_out and tie.counter_m is None:
            yield _with_reason(words, "pack.finding.tie", tie.left_out, {})
        elif tie.left_out:
            at = {"m": place_text(words, tie.counter_m or 0.0)}
            yield _with_reason(words, "pack.finding.tie_at", tie.left_out, at)
    for blunder in figures.blunders:
        yield blunder_text(words, blunder)
    for one in figures.level_findings:
        yield level_finding_text(words, one)
    for gap in figures.gaps:
        if not gap.consistent:
            yield gap_text(words, gap.chainage_m, gap.low_deg if gap.deg is None else gap.deg)
    for row in figures.lengths:
        if row.known == "contradicted":
            ends = {"from_m": place_text(words, row.from_m), "to_m": place_text(words, row.to_m)}
            yield message(words, "pack.finding.too_far_apart", ends)
    check = figures.far_check
    if check is not None and check.flagged:
        values = {
            "m": fixed_signed_text(words, check.difference_m, 2),
            "pct": fixed_signed_text(words, check.difference_pct, 1),
            "allowed": metres(words, check.allowed_m, None),
            "factor": fixed_text(words, check.factor, 4),
        }
        yield message(words, "pack.finding.far_check", values)
    if figures.trace is not None:
        for _, code in figures.trace.left_out:
            yield _with_reason(words, "pack.finding.turn", code, {})
        if figures.trace.tie_suspect:
            yield message(words, "pack.finding.far_position", {})


def _with_reason(words: Words, key: str, code: str, values: dict[str, str]) -> str:
    return sentences(words, (message(words, key, values), code_reason(words, code)))
