"""Numbers as people read them.  Each with its unit; a bound is never shown as a number alone."""

from ..report_model.contents import Observation, Reading, Run
from ..report_model.figures import Level
from ..report_model.plain_values import short_text
from ..survey.numbers.decimals import MINUS as MINUS
from ..survey.numbers.decimals import decimal_text, signed_text
from ..survey.wording.wording import one_in_text

LEVEL_OF = "invert of the main pipe"  # what a level at an observation is
TAKEN_OVER = "as last time, not looked at anew"


def number(value: float | None, digits: int, unit: str = "") -> str:
    """Return a number with its unit; empty for None; never minus zero."""
    if value is None:
        return ""
    text = decimal_text(value, digits)
    return f"{text} {unit}" if unit else text


def further(observation: Observation) -> list[str]:
    """Return the fields that are placed nowhere else, each with its label and unit."""
    return [f"{one.label}: {_plain(one.value)} {one.unit}".rstrip() for one in observation.further]


def _plain(value: str | float | bool) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return value if isinstance(value, str) else short_text(value)


def level(value: Level | None, unit: str = "") -> str:
    """Return a level: a value, or ``at least`` / ``at most`` / ``between`` where it is bounded."""
    if value is None:
        return ""
    low, high = number(value.low_m, 3, unit), number(value.high_m, 3, unit)
    return {
        "": number(value.level_m, 3, unit),
        "at_least": f"at least {low}",
        "at_most": f"at most {high}",
        "between": f"{low} to {high}",
    }.get(value.sense, "not known")


def counter_in_file(reading: Reading) -> str:
    """Return the counter as it stands in the file that a reading is from; empty where it is the same."""
    if not reading.counter_typed:
        return ""
    bare = reading.counter_typed[-1:].isdigit()
    unit = f" {reading.counter_unit}" if bare and reading.counter_unit else ""
    added = reading.counter_added_m
    more = f", {signed_text(added, 2)} m for its zero" if added else ""
    return f"in the file {reading.counter_typed}{unit}{more}"


def level_known(value: Level) -> str:
    """Return how a level is known; where a level was measured, that stands beside the adjusted one."""
    if not value.measured_m:
        return value.known
    return f"{value.known}; measured {' and '.join(number(m, 3, 'm') for m in value.measured_m)}"


def one_in(reading: Reading, limit_deg: float, limit_known: str) -> str:
    """Return the gradient of a reading as 1 in N, or what the bound says."""
    if reading.over:
        return f"steeper than {number(limit_deg, 1)}°" if limit_known == "measured" else "beyond range"
    if reading.deg is None:
        return ""
    return one_in_text(reading.deg).removesuffix(" rising").removesuffix(" falling").removesuffix(",")


def arrow(reading: Reading) -> str:
    """Return an arrow in the direction of the fall: → ahead, ← back to the start."""
    sign = reading.over or reading.deg or 0
    return "←" if sign > 0 else "→" if sign < 0 else ""


def percent(reading: Reading) -> str:
    """Return the signed gradient in percent, plus where the pipe rises ahead."""
    if reading.pct is None or abs(reading.pct) > 1e4:
        return ""
    return signed_text(reading.pct, 2)


def degrees(reading: Reading) -> str:
    """Return the signed inclination in degrees."""
    if reading.deg is None:
        return ""
    return signed_text(reading.deg, 2)


def reading_known(reading: Reading) -> str:
    """Return the word for how a reading's numbers are known."""
    if reading.over:
        return "bounded"
    return "measured" if reading.inclination else "not known"


def clock(observation: Observation) -> str:
    """Return the clock position in words."""
    start, end = observation.clock_from, observation.clock_to
    if start is None:
        return ""
    if end is None:
        return f"{start:.0f} o'clock"
    if start == end:
        return "all round"
    return f"{start:.0f} to {end:.0f} o'clock"


def sizes(observation: Observation) -> str:
    """Return the quantities with their labels and units; one that was taken over says so."""
    over = {label: f" ({TAKEN_OVER})" for label in observation.taken_over}
    return "; ".join(
        f"{label}: {short_text(value)} {unit}{over.get(label, '')}"
        for label, value, unit in observation.sizes
    )


def sizes_known(observation: Observation) -> str:
    """Return how the sizes of an observation are known."""
    over = [f"{label}: {TAKEN_OVER}" for label in observation.taken_over]
    return "; ".join(["seen by the camera, sizes estimated", *over])


def continuous(observation: Observation) -> str:
    """Return what is known of something that goes on along the pipe."""
    if not observation.continuous_role:
        return ""
    name = f"no. {observation.continuous_number}"
    if observation.continuous_role == "start" and observation.finish_m is not None:
        return f"start of {name}, goes on to {number(observation.finish_m, 2, 'm')}"
    return f"{observation.continuous_role} of {name}"


def counter_resets(run: Run) -> str:
    """Return where the counter was reset, and that the chainages count on through it; empty if nowhere."""
    told = "; ".join(
        f"at chainage {number(r.chainage_m, 2, 'm')} (computed) it had shown {number(r.had_shown_m, 2, 'm')} "
        f"and was set to {number(r.set_to_m, 2, 'm')} (recorded)"
        for r in run.counter_resets
    )
    return f"{told}. Chainages count on through it." if told else ""


def node_names(run: Run) -> tuple[str, str]:
    """Return the names of the start and the finish node, honest where there is none."""
    start = f"{run.start.type_label.lower()} {run.start.ref}" if run.start else "a start not recorded"
    finish = f"{run.finish.type_label.lower()} {run.finish.ref}" if run.finish else "an unknown end"
    return start, finish
