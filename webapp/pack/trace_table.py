"""Where a run goes in plan, as sentences and a table."""

from ..survey.decimals import decimal_text, signed_text
from ..survey.figure_words import place_text
from ..survey.wording import bearing_text, known_word, walk_text
from .contents import Run
from .figure_words import MISSING, NORTHS
from .figures import Trace
from .section import Row, Section


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
    note = (
        "The ellipse holds the end 95 times in 100, if bends, bearing and counter are as good as stated."
        if rows
        else ""
    )
    parts = (1.2, 1.3, 1.5, 1.0)
    return Section("trace", "Where the run goes", header, rows, (), 0, parts, tuple(lines), note)


def _trace_rows(trace: Trace) -> list[Row]:
    north = NORTHS.get(trace.north, "an unknown north")
    rows: list[Row] = [
        ("Start bearing", f"{bearing_text(trace.bearing_deg)} from {north}",
         f"sd {decimal_text(trace.bearing_sd_deg or 0.0, 1)}°", known_word(trace.bearing_known)),
        ("Position of the start", "", f"within {decimal_text(trace.start_radius_m, 1)} m, 95 times in 100"
         if trace.start_known != "unknown" else "", known_word(trace.start_known)),
        ("Length along the pipe", f"{place_text(trace.length_m)} m", "", "computed"),
        ("Length on plan", _plan(trace), "", known_word(trace.plan_known)),
    ]  # fmt: skip
    for b in trace.bends:
        side = "right" if b.deflection_deg > 0 else "left"
        rows.append(
            (f"Bend at {place_text(b.chainage_m)} m",
             f"{decimal_text(abs(b.deflection_deg), 1)}° to the {side}",
             f"sd {decimal_text(b.sd_deg, 1)}° (assumed)", "measured: estimated by camera")
        )  # fmt: skip
    if not trace.bends:
        rows.append(("Bends", "none observed, so taken as straight", "", "assumed"))
    end = trace.points[-1]
    size = f"{decimal_text(end.semi_major_m, 1)} by {decimal_text(end.semi_minor_m, 1)} m"
    where = f"{_axis(end.e_m, 'east', 'west')}, {_axis(end.n_m, 'north', 'south')}"
    spread = f"ellipse {size}, the longer way at {bearing_text(end.azimuth_deg)}"
    rows.append(("End, from the start", where, spread, "computed"))
    if end.lat_deg is not None and end.lon_deg is not None:
        where = f"{signed_text(end.lat_deg, 6)}°, {signed_text(end.lon_deg, 6)}°"
        rows.append(("Latitude, longitude of the end", where, "WGS 84", "computed"))
    return rows


def _plan(trace: Trace) -> str:
    if trace.plan_low_m is None or trace.plan_high_m is None:
        return "not known"
    if trace.plan_high_m - trace.plan_low_m < 0.005:
        return f"{place_text(trace.plan_low_m)} m"
    return f"{place_text(trace.plan_low_m)} to {place_text(trace.plan_high_m)} m"


def _axis(value_m: float, plus: str, minus: str) -> str:
    return f"{decimal_text(abs(value_m), 1)} m {plus if value_m >= 0 else minus}"
