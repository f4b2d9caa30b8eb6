"""The figures of a run in sentences: the words that the phone uses for them too."""

from collections.abc import Iterable

from ..survey.decimals import decimal_text, signed_text
from ..survey.wording import at_least_text, degrees_text, known_word, metres
from .figures import Backfall, Blunder, Capacity, Figures, LengthRow, Rise, Sag, WaterSeen

CODES = {
    "gradient_unknown": "The gradient is not known, so there is no number.",
    "gradient_level": "Level as far as can be told: no number.",
    "gradient_adverse": "It rises with the flow: no number.",
    "gradient_may_be_adverse": "Within its band the gradient may be adverse.",
    "bed_taken_as_rough_as_wall": "The deposit is taken to be as rough as the wall.",
    "flow_not_turbulent": "The flow is not turbulent: the formula does not hold.",
    "roughness_large": "The roughness is large against the size: outside the range of the formula.",
    "roughness_beyond_formula": "The roughness is beyond the formula: no number.",
    "stretch_without_ends": "The stretch has no end yet, or ends before it starts.",
    "shape_not_known": "The shape is not recorded.",
    "size_not_known": "The size is not recorded.",
    "width_not_known": "The width is not recorded.",
    "bore_blocked": "Deposits fill the bore.",
    "size_out_of_range": "The size is out of range.",
    "deposit_out_of_range": "The deposit does not fit the bore.",
    "chainage_not_ascending": "The readings are not in order of chainage.",
    "tie_not_solvable": "The ties contradict each other.",
    "pipes_overlap": "Single pipes overlap.",
    "tie_incomplete": "It has no counter distance or no level yet.",
    "before_zero": "It lies before chainage zero.",
    "bend_without_angle": "Its angle is not recorded.",
    "bend_without_counter": "Its counter reading is not recorded.",
    "bend_without_side": "Left or right is not recorded.",
    "bend_outside_run": "It lies outside the run.",
    "bend_angle_out_of_range": "Its angle cannot be.",
}
REASONS = {
    "deposit": "Without its deposit it would carry {q}.",
    "deformation": "In its original shape it would carry {q}.",
    "fall": "With the best fall of the run it would carry {q}.",
    "bore": "With the largest bore of the run it would carry {q}.",
    "roughness": "With the smoothest wall of the run it would carry {q}.",
}
MISSING = {
    "start_position": "position of the start node",
    "start_bearing": "bearing at the start",
    "declination": "magnetic declination",
    "convergence": "grid convergence",
    "length": "a length: a reading or an observation",
}
NORTHS = {"true": "true north", "magnetic": "magnetic north", "grid": "grid north"}
VERDICTS = {
    "agrees": "They agree.",
    "deeper": "More than the levels explain: something holds it back, or the levels are out.",
    "shallower": "Less than the levels explain: the levels may be out.",
}
FIGURES = {
    "levels": "levels", "falls": "falls", "far_tie": "effect of a further tie", "capacity": "capacity",
    "water": "standing water", "trace": "trace",
}  # fmt: skip
INDICATION = (
    "Indication for a competent engineer: full bore, steady flow, from the fall, size and roughness as far "
    "as they are known."
)


def code_words(code: str) -> str:
    """Return a finding or refusal in words."""
    return CODES.get(code, f"It cannot be computed ({code}).")


def known_text(known: str) -> str:
    """Return the word for how a number is known, contradictions by the ties included."""
    return "contradicted by the level ties" if known == "contradicted" else known_word(known)


def place(chainage_m: float) -> str:
    """Return a place along the pipe, to the centimetre."""
    return decimal_text(chainage_m, 2)


def sd_text(sd_m: float | None) -> str:
    """Return a standard deviation alone, rounded as beside its value; empty if not known."""
    return "" if sd_m is None else metres(sd_m, sd_m).split(", sd ")[1]


def rise_text(rise: Rise | None) -> str:
    """Return a change of level: ``falls 0.441 m, sd 0.015 m`` or what its bounds say."""
    if rise is None:
        return "not known"
    if rise.value_m is None:
        return at_least_text(rise.low_m, rise.high_m)
    return f"{'rises' if rise.value_m > 0 else 'falls'} {metres(abs(rise.value_m), rise.sd_m)}"


def fall_text(row: LengthRow) -> str:
    """Return the fall of a length, without its spread: that has a column of its own."""
    if row.fall_m is not None:
        return at_least_text(-row.fall_m, -row.fall_m)
    low = None if row.high_fall_m is None else -row.high_fall_m
    high = None if row.low_fall_m is None else -row.low_fall_m
    return at_least_text(low, high)


def flow_text(m3_s: float | None) -> str:
    """Return a flow in litres a second, to three figures or so."""
    if m3_s is None:
        return "no number"
    litres = 1000 * m3_s
    return f"{decimal_text(litres, 0 if litres >= 100 else 1 if litres >= 10 else 2)} l/s"


def capacity_text(row: Capacity) -> str:
    """Return what a stretch carries, with its band or its bounds."""
    low, mean, high = row.low_m3_s, row.mean_m3_s, row.high_m3_s
    if mean is not None:
        if low is not None and high is not None:
            return f"{flow_text(mean)}, 95 % band {_number(low)} to {flow_text(high)}"
        return f"{flow_text(mean)}, at most {flow_text(high)}" if high is not None else flow_text(mean)
    if low is not None:
        return f"at least {flow_text(low)}"
    return f"at most {flow_text(high)}" if high is not None else "no number"


def _number(m3_s: float) -> str:
    return flow_text(m3_s).removesuffix(" l/s")


def gradient_text(row: Capacity) -> str:
    """Return the gradient of a stretch along the flow in percent, with its band or bounds."""
    low, mean, high = (
        None if g is None else signed_text(100 * g, 2)
        for g in (row.gradient_low, row.gradient, row.gradient_high)
    )
    if mean is not None:
        return f"{mean} % (95 % band {low} to {high} %)"
    if low is None and high is None:
        return "not known"
    if row.gradient_low is not None and row.gradient_low > 0:
        return f"at least {low} %"
    return f"{low or 'no bound'} to {high or 'no bound'} %"


def backfall_text(one: Backfall) -> str:
    """Return a backfall as a sentence."""
    where, size = f"from {place(one.from_m)} to {place(one.to_m)} m", metres(one.rise_m, one.sd_m)
    if one.at_least:
        return f"Backfall {where}: rises at least {size} with the flow (bounded)."
    if one.sure:
        return f"Backfall {where}: rises {size} with the flow (computed)."
    return (
        f"Possible backfall {where}: rises {size} with the flow (computed); less than twice its standard "
        "deviation."
    )


def volume_text(volume_m3: float | None) -> str:
    """Return a volume in litres, from a cubic metre up in cubic metres."""
    if volume_m3 is None:
        return "not known: size not recorded"
    return (
        f"{decimal_text(1000 * volume_m3, 0)} litres" if volume_m3 < 1 else f"{decimal_text(volume_m3, 1)} m³"
    )


def times_text(standardised: float) -> str:
    """Return how many standard deviations something is out."""
    return "more than 999" if abs(standardised) > 999 else decimal_text(abs(standardised), 1)


def sag_text(one: Sag) -> str:
    """Return a sag as a sentence."""
    where, size = f"from {place(one.from_m)} to {place(one.to_m)} m", metres(one.depth_m, one.sd_m)
    low = f"deep at {place(one.low_m)} m"
    if one.at_least:
        return f"Sag {where}: water would stand at least {size} {low} (bounded)."
    if one.sure:
        return f"Sag {where}: water would stand {size} {low} (computed)."
    return f"Possible sag {where}: {size} {low} (computed); less than twice its standard deviation."


def water_text(one: WaterSeen) -> str:
    """Return a comparison of the water seen with the levels."""
    seen, explained = metres(one.observed_m, one.sd_m), f"{decimal_text(one.computed_m, 3)} m"
    return (
        f"Water seen at {place(one.chainage_m)} m: {seen} above the running water; the levels explain "
        f"{explained}. {VERDICTS[one.verdict]}"
    )


def blunder_text(one: Blunder) -> str:
    """Return what most looks like a slip."""
    off = (
        f"{metres(abs(one.size_m), None)} out if it alone is, {times_text(one.standardised)} times "
        "its standard deviation."
    )
    if one.kind == "tie":
        return f"Most suspicious: the level tie at {place(one.from_m)} m. It is {off}"
    if one.kind == "start":
        return f"Most suspicious: the level at the start. It is {off}"
    return f"Most suspicious: a reading between {place(one.from_m)} and {place(one.to_m)} m. It is {off}"


def settle_text(figures: Figures) -> str:
    """Return what a level at the far end would settle; empty where there is nothing to."""
    tie = figures.far_tie
    if tie is None or tie.then_sd_m is None:
        return ""
    end, what = ("each end", "the fall") if tie.both_ends else ("the far end", "it")
    now = "from bounds only" if tie.now_sd_m is None else f"sd {sd_text(tie.now_sd_m)}"
    words = (
        f"A level at {end}, taken to {sd_text(tie.tie_sd_m)} (assumed), would settle {what}: "
        f"{now} to sd {sd_text(tie.then_sd_m)}"
    )
    if tie.bounded_now > tie.bounded_then:
        words += f"; of {tie.bounded_now} stations with bounds only, {tie.bounded_then} would be left"
    return f"{words}."


def figure_findings(figures: Figures) -> Iterable[tuple[str, str]]:
    """Return what is wrong or refused in the figures of a run: severity and sentence."""
    for figure, code in figures.trouble:
        yield "warn", f"The {FIGURES.get(figure, figure)} cannot be computed. {code_words(code)}"
    for tie in figures.ties:
        if tie.left_out:
            at = f" at counter {place(tie.counter_m)} m" if tie.counter_m is not None else ""
            yield "warn", f"The level tie{at} takes no part in the levels. {code_words(tie.left_out)}"
    for blunder in figures.blunders:
        yield "warn", blunder_text(blunder)
    for gap in figures.gaps:
        if not gap.consistent:
            deg = degrees_text(gap.deg if gap.deg is not None else gap.low_deg)
            yield (
                "warn",
                f"The ties do not fit the length beyond the range at {place(gap.chainage_m)} m: it would "
                f"need {deg}.",
            )
    for row in figures.lengths:
        if row.known == "contradicted":
            where = f"{place(row.from_m)} and {place(row.to_m)} m"
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
            yield "warn", f"A bend takes no part in the trace. {code_words(code)}"
        if figures.trace.tie_suspect:
            yield (
                "warn",
                "The trace and the position of the finish node are further apart than 95 times in 100: check "
                "bends, bearing and both positions.",
            )
