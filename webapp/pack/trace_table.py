"""Where a run goes in plan, as sentences and a table."""

from ..report_model.contents import Run
from ..report_model.figures import Trace, TraceJoints, TracePosition
from ..report_model.section import Row, Section
from ..survey.numbers.decimals import decimal_text, signed_text
from ..survey.wording.figure_words import place_text
from ..survey.wording.wording import bearing_text, known_word, walk_text
from .figure_words import MISSING, NORTHS

NOTE = (
    "The ellipse holds the end 95 times in 100, if bends, joints, bearing, positions and counter are as good "
    "as stated. What a phone states is read as 68 times in 100 on Android and 63 elsewhere; beside walls and "
    "under trees it is worse."
)
DECLINATIONS = {
    "model": "from a model, its year not recorded",
    "map": "from a map, its year not recorded",
    "typed": "typed, its year not recorded",
}


def look_text(run: Run) -> str:
    """Return where to look for the far end, as one sentence; empty without a trace."""
    trace = run.figures.trace
    if trace is None or trace.far_end is None:
        return ""
    end = trace.far_end
    start = run.start.ref if run.start else "the start"
    walk = walk_text(end.distance_m, end.bearing_deg, end.radius_m)
    north = "" if end.north == "true" else f" (from {NORTHS.get(end.north, 'an unknown north')})"
    what = "the finish node" if run.end_reason == "node_reached" else "where the survey ended"
    return f"From {start} walk {walk}{north}: there lies {what} (computed)."


def trace_section(run: Run) -> Section:
    """Return the table of a trace."""
    trace = run.figures.trace
    if trace is None:
        return Section("trace", "Where the run goes", lines=("It cannot be computed.",))
    lines = [look] if (look := look_text(run)) else []
    if trace.missing:
        named = ", ".join(MISSING.get(m, m) for m in trace.missing)
        lines.append(f"Missing for {'a place on the ground' if trace.points else 'a trace'}: {named}.")
    rows = tuple(_trace_rows(trace)) if trace.points else ()
    header = ("What it rests on", "Value", "Spread", "Known")
    note = NOTE if rows else ""
    parts = (1.2, 1.3, 1.5, 1.0)
    return Section("trace", "Where the run goes", header, rows, (), 0, parts, tuple(lines), note)


def _trace_rows(trace: Trace) -> list[Row]:
    north = NORTHS.get(trace.north, "an unknown north")
    rows: list[Row] = [
        ("Start bearing", f"{bearing_text(trace.bearing_deg)} from {north}",
         f"sd {_deg(trace.bearing_sd_deg)}", known_word(trace.bearing_known)),
        *_declination(trace),
        ("Position of the start", *_position(trace.start)),
        ("Length along the pipe", f"{place_text(trace.length_m)} m", "", "computed"),
        ("Length on plan", _plan(trace), "", known_word(trace.plan_known)),
    ]  # fmt: skip
    for b in trace.bends:
        side = "right" if b.deflection_deg > 0 else "left"
        what = "Joint at an angle" if b.joint else "Bend"
        known = "measured: estimated by camera" if b.known == "measured" else known_word(b.known)
        rows.append(
            (f"{what} at {place_text(b.chainage_m)} m", f"{_deg(abs(b.deflection_deg))} to the {side}",
             f"sd {_deg(b.sd_deg)} (assumed)", known)
        )  # fmt: skip
    if not trace.bends:
        none = "none that can be followed" if trace.loose else "none observed"
        rows.append(("Bends", f"{none}, so taken as straight", "", "assumed"))
    for loose in trace.loose:
        rows.append(
            (f"Turn at {place_text(loose.chainage_m)} m", "its way or angle is not recorded: not turned",
             f"sd {_deg(loose.sd_deg)}", "assumed")
        )  # fmt: skip
    rows += [_joints(one) for one in trace.joints]
    if trace.tie is not None:
        rows.append(("Position of the far end", *_position(trace.tie)))
        if trace.tie_misclosure_m is not None:
            missed = f"{decimal_text(trace.tie_misclosure_m, 1)} m before it was tied"
            size = f"{decimal_text(trace.tie_misclosure_size or 0.0, 1)} times its sd"
            rows.append(("Trace less that position", missed, size, "computed"))
    end = trace.points[-1]
    size = f"{decimal_text(end.semi_major_m, 1)} by {decimal_text(end.semi_minor_m, 1)} m"
    where = f"{_axis(end.e_m, 'east', 'west')}, {_axis(end.n_m, 'north', 'south')}"
    spread = f"ellipse {size}, the longer way at {bearing_text(end.azimuth_deg)}"
    rows.append(("End, from the start", where, spread, "computed"))
    if end.lat_deg is not None and end.lon_deg is not None:
        where = f"{signed_text(end.lat_deg, 6)}°, {signed_text(end.lon_deg, 6)}°"
        rows.append(("Latitude, longitude of the end", where, "WGS 84", "computed"))
    return rows


def _declination(trace: Trace) -> list[Row]:
    used = trace.declination
    if used is None:
        return []
    model = used.model or DECLINATIONS.get(used.known, "how it is known is not recorded")
    spread = f"sd {_deg(used.sd_deg)} ({known_word(used.sd_known)}), counted in that of the bearing"
    return [("Declination", f"{signed_text(used.deg, 2)}°", spread, model)]


def _position(used: TracePosition | None) -> Row:
    """What its source states, the radius that counts, how it is known."""
    if used is None:
        return ("", "", "not known")
    stated = ""
    if used.stated_m is not None:
        by = f"{used.source}: " if used.source else ""
        times = decimal_text(used.stated_pct or 0.0, 0)
        stated = f"{by}± {decimal_text(used.stated_m, 1)} m, {times} times in 100"
    return (stated, f"within {decimal_text(used.radius_m, 1)} m, 95 times in 100", known_word(used.known))


def _joints(one: TraceJoints) -> Row:
    pipe = f"{one.count} of {decimal_text(one.pipe_m, 2)} m pipes ({known_word(one.pipe_known)})"
    return (
        f"Joints from {place_text(one.from_m)} to {place_text(one.to_m)} m, not observed", pipe,
        f"sd {_deg(one.sd_deg)} each", "assumed: common practice, no source",
    )  # fmt: skip


def _deg(value: float | None) -> str:
    return f"{decimal_text(value or 0.0, 1)}°"


def _plan(trace: Trace) -> str:
    if trace.plan_low_m is None or trace.plan_high_m is None:
        return "not known"
    if trace.plan_high_m - trace.plan_low_m < 0.005:
        return f"{place_text(trace.plan_low_m)} m"
    return f"{place_text(trace.plan_low_m)} to {place_text(trace.plan_high_m)} m"


def _axis(value_m: float, plus: str, minus: str) -> str:
    return f"{decimal_text(abs(value_m), 1)} m {plus if value_m >= 0 else minus}"
