"""Numbers as people read them.  Each with its unit; a bound is never shown as a number alone."""

from ..messages import all_of
from ..report_model.levels import Level
from ..report_model.run import Observation, Reading, Run
from ..survey.numbers.decimals import MINUS as MINUS
from ..survey.wording.messages import Words, clauses, message
from ..survey.wording.quantities import fixed_signed_text, fixed_text, known_word, steepness, unit_text
from ..survey.wording.recorded import clock_text, short_text, value_text


def number(words: Words, value: float | None, digits: int, unit: str = "") -> str:
    """Return a number with its unit; empty for None; never minus zero."""
    if value is None:
        return ""
    text = fixed_text(words, value, digits)
    return message(words, "survey.sized", {"size": text, "unit": unit}) if unit else text


def level(words: Words, value: Level | None) -> str:
    """Return a level: a value, or ``at least`` / ``at most`` / ``between`` where it is bounded."""
    if value is None:
        return ""
    if not value.sense:
        return number(words, value.level_m, 3)
    if value.sense not in ("at_least", "at_most", "between"):
        return message(words, "survey.not_known", {})
    bounds = {"low": number(words, value.low_m, 3), "high": number(words, value.high_m, 3)}
    return message(words, f"pack.level.{value.sense}", bounds)


def counter_in_file(words: Words, reading: Reading) -> str:
    """Return the counter as it stands in the file that a reading is from; empty where it is the same."""
    if not reading.counter_typed:
        return ""
    bare = reading.counter_typed[-1:].isdigit()
    unit = f" {reading.counter_unit}" if bare and reading.counter_unit else ""
    values = {"typed": f"{reading.counter_typed}{unit}"}
    added = reading.counter_added_m
    if not added:
        return message(words, "pack.reading.in_file", values)
    return message(
        words, "pack.reading.in_file_added", {**values, "added_m": fixed_signed_text(words, added, 2)}
    )


def level_known(words: Words, value: Level) -> str:
    """Return how a level is known; where a level was measured, that stands beside the adjusted one."""
    provenance = known_word(words, value.known)
    if not value.measured_m:
        return provenance
    levels = all_of(words, (number(words, m, 3, "m") for m in value.measured_m))
    return message(words, "pack.level.measured", {"known": provenance, "levels": levels})


def one_in(words: Words, reading: Reading, limit_deg: float, limit_known: str) -> str:
    """Return the gradient of a reading as 1 in N, or what the bound says."""
    if reading.over:
        which = "steeper" if limit_known == "measured" else "beyond"
        return message(words, f"pack.reading.{which}", {"deg": number(words, limit_deg, 1)})
    kind, size = steepness(words, reading.deg)
    return "" if kind == "not_known" else message(words, f"pack.reading.{kind}", {"size": size})


def arrow(reading: Reading) -> str:
    """Return an arrow in the direction of the fall: → ahead, ← back to the start."""
    sign = reading.over or reading.deg or 0
    return "←" if sign > 0 else "→" if sign < 0 else ""


def percent(words: Words, reading: Reading) -> str:
    """Return the signed gradient in percent, plus where the pipe rises ahead."""
    if reading.pct is None or abs(reading.pct) > 1e4:
        return ""
    return fixed_signed_text(words, reading.pct, 2)


def degrees(words: Words, reading: Reading) -> str:
    """Return the signed inclination in degrees."""
    if reading.deg is None:
        return ""
    return fixed_signed_text(words, reading.deg, 2)


def clock(words: Words, observation: Observation) -> str:
    """Return the clock position in words."""
    start, end = observation.clock_from, observation.clock_to
    return "" if start is None else clock_text(words, {"hour_from": start, "hour_to": end})


def sizes(words: Words, observation: Observation) -> str:
    """Return the quantities with their labels and units; one that was taken over says so."""
    return clauses(
        words,
        (
            message(
                words,
                "pack.size_taken_over" if label in observation.taken_over else "pack.size",
                {"label": label, "size": short_text(words, value), "unit": unit_text(words, unit)},
            )
            for label, value, unit in observation.sizes
        ),
    )


def sizes_known(words: Words, observation: Observation) -> str:
    """Return how the sizes of an observation are known."""
    over = [message(words, "pack.sizes_taken_over", {"label": label}) for label in observation.taken_over]
    return clauses(words, [message(words, "pack.sizes_known", {}), *over])


def continuous(words: Words, observation: Observation) -> str:
    """Return what is known of something that goes on along the pipe."""
    role, number_of = observation.continuous_role, str(observation.continuous_number)
    if not role:
        return ""
    if role == "start" and observation.finish_m is not None:
        ends = {"number": number_of, "m": number(words, observation.finish_m, 2)}
        return message(words, "pack.continuous.goes_on", ends)
    return message(words, f"pack.continuous.{role}", {"number": number_of})


def further(words: Words, observation: Observation) -> list[str]:
    """Return the fields that are placed nowhere else, each with its label and unit."""
    return [
        message(
            words,
            "pack.label_value",
            {"label": one.label, "values": _plain(words, one.value, one.unit)},
        )
        for one in observation.further
    ]


def _plain(words: Words, value: str | float | bool, unit: str) -> str:
    return value_text(words, {"unit": unit}, value)


def counter_resets(words: Words, run: Run) -> str:
    """Return where the counter was reset, and that the chainages count on through it; empty if nowhere."""
    if not run.counter_resets:
        return ""
    resets = clauses(
        words,
        (
            message(
                words,
                "pack.reset",
                {
                    "m": number(words, r.chainage_m, 2),
                    "shown_m": number(words, r.had_shown_m, 2),
                    "set_m": number(words, r.set_to_m, 2),
                },
            )
            for r in run.counter_resets
        ),
    )
    return message(words, "pack.resets", {"resets": resets})


def node_names(words: Words, run: Run) -> tuple[str, str]:
    """Return the names of the start and the finish node, honest where there is none."""
    return tuple(
        message(words, f"pack.node.no_{end}", {})
        if node is None
        else message(words, "pack.node", {"type": node.type_label, "ref": node.ref})
        for end, node in (("start", run.start), ("finish", run.finish))
    )  # type: ignore[return-value]
