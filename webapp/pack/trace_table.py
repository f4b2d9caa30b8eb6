"""Where a run goes in plan, as sentences and a table."""

from ..report_model.plan import Trace, TraceBend, TraceJoints, TraceLoose, TracePosition
from ..report_model.run import Run
from ..report_model.section import Row, Section, heads
from ..survey.wording.messages import Words, listed, message
from ..survey.wording.quantities import (
    bearing_text,
    fixed_signed_text,
    fixed_text,
    known_word,
    length_text,
    place_text,
    walk_text,
)
from ..survey.wording.recorded import north_word

DECLINATIONS = ("model", "map", "typed")


def look_text(words: Words, run: Run) -> str:
    """Return where to look for the far end, as one sentence; empty without a trace."""
    trace = run.figures.trace
    if trace is None or trace.far_end is None:
        return ""
    end = trace.far_end
    values = {
        "start": run.start.ref if run.start else message(words, "pack.trace.start", {}),
        "walk": walk_text(words, end.distance_m, end.bearing_deg, end.radius_m),
        "north": north_word(words, end.north),
    }
    what = "node" if run.end_reason == "node_reached" else "end"
    return message(words, f"pack.trace.look_{what}{'' if end.north == 'true' else '_north'}", values)


def trace_section(words: Words, run: Run) -> Section:
    """Return the table of a trace."""
    trace = run.figures.trace
    title = message(words, "pack.trace.title", {})
    if trace is None:
        return Section("trace", title, lines=(message(words, "pack.trace.none", {}),))
    lines = [look] if (look := look_text(words, run)) else []
    if trace.missing:
        named = listed(words, (message(words, f"pack.trace.missing.{m}", {}) for m in trace.missing))
        which = "missing_place" if trace.points else "missing_trace"
        lines.append(message(words, f"pack.trace.{which}", {"missing": named}))
    rows = tuple(_trace_rows(words, trace)) if trace.points else ()
    header = heads(words, "rests_on", "value", "spread", "known")
    note = message(words, "pack.trace.note", {}) if rows else ""
    return Section("trace", title, header, rows, (), 0, (1.2, 1.3, 1.5, 1.0), tuple(lines), note)


def _row(words: Words, name: str, value: str, spread: str, provenance: str) -> Row:
    return (message(words, f"pack.trace.row.{name}", {}), value, spread, provenance)


def _trace_rows(words: Words, trace: Trace) -> list[Row]:
    bearing = {"bearing": bearing_text(words, trace.bearing_deg), "north": north_word(words, trace.north)}
    computed = known_word(words, "computed")
    rows: list[Row] = [
        _row(words, "bearing", message(words, "pack.trace.bearing", bearing),
             _sd(words, trace.bearing_sd_deg), known_word(words, trace.bearing_known)),
        *_declination(words, trace),
        *_convergence(words, trace),
        _row(words, "start", *_position(words, trace.start)),
        _row(words, "length", length_text(words, trace.length_m, 2), "", computed),
        _row(words, "plan", _plan(words, trace), "", known_word(words, trace.plan_known)),
        *(_bend(words, b) for b in trace.bends),
    ]  # fmt: skip
    if not trace.bends:
        none = message(words, f"pack.trace.{'bends_not_followed' if trace.loose else 'no_bends'}", {})
        rows.append(_row(words, "bends", none, "", known_word(words, "assumed")))
    rows += [_loose(words, one) for one in trace.loose]
    rows += [_joints(words, one) for one in trace.joints]
    if trace.tie is not None:
        rows.append(_row(words, "far_end", *_position(words, trace.tie)))
        if trace.tie_misclosure_m is not None:
            missed = message(words, "pack.trace.missed", {"m": fixed_text(words, trace.tie_misclosure_m, 1)})
            size = {"times": fixed_text(words, trace.tie_misclosure_size or 0.0, 1)}
            rows.append(_row(words, "misclosure", missed, message(words, "pack.trace.times", size), computed))
    return rows + _end(words, trace)


def _bend(words: Words, b: TraceBend) -> Row:
    at = message(
        words, f"pack.trace.{'joint' if b.joint else 'bend'}_at", {"m": place_text(words, b.chainage_m)}
    )
    side = "right" if b.deflection_deg > 0 else "left"
    turn = message(words, f"pack.trace.to_the_{side}", {"deg": fixed_text(words, abs(b.deflection_deg), 1)})
    spread = message(words, "pack.trace.sd_assumed", {"deg": fixed_text(words, b.sd_deg or 0.0, 1)})
    estimated = message(words, "pack.trace.estimated", {})
    return (at, turn, spread, estimated if b.known == "measured" else known_word(words, b.known))


def _loose(words: Words, one: TraceLoose) -> Row:
    at = message(words, "pack.trace.turn_at", {"m": place_text(words, one.chainage_m)})
    not_turned = message(words, "pack.trace.not_turned", {})
    return (at, not_turned, _sd(words, one.sd_deg), known_word(words, "assumed"))


def _end(words: Words, trace: Trace) -> list[Row]:
    end, computed = trace.points[-1], known_word(words, "computed")
    where = listed(words, (_axis(words, end.e_m, "east", "west"), _axis(words, end.n_m, "north", "south")))
    ellipse = {
        "major_m": fixed_text(words, end.semi_major_m, 1),
        "minor_m": fixed_text(words, end.semi_minor_m, 1),
        "bearing": bearing_text(words, end.azimuth_deg),
    }
    rows = [_row(words, "end", where, message(words, "pack.trace.ellipse", ellipse), computed)]
    if end.lat_deg is not None and end.lon_deg is not None:
        place = {
            "lat_deg": fixed_signed_text(words, end.lat_deg, 6),
            "lon_deg": fixed_signed_text(words, end.lon_deg, 6),
        }
        datum = message(words, "pack.trace.wgs84", {})
        rows.append(_row(words, "position", message(words, "pack.trace.lat_lon", place), datum, computed))
    return rows


def _declination(words: Words, trace: Trace) -> list[Row]:
    used = trace.declination
    if used is None:
        return []
    provenance = used.known if used.known in DECLINATIONS else "not_recorded"
    model = used.model or message(words, f"pack.trace.declination_{provenance}", {})
    values = {"deg": fixed_text(words, used.sd_deg or 0.0, 1), "known": known_word(words, used.sd_known)}
    spread = message(words, "pack.trace.sd_in_bearing", values)
    value = message(words, "survey.gradient.degrees", {"deg": fixed_signed_text(words, used.deg, 2)})
    return [_row(words, "declination", value, spread, model)]


def _convergence(words: Words, trace: Trace) -> list[Row]:
    used = trace.convergence
    if used is None:
        return []
    value = message(words, "survey.gradient.degrees", {"deg": fixed_signed_text(words, used.deg, 2)})
    return [_row(words, "convergence", value, "", message(words, f"pack.trace.convergence_{used.known}", {}))]


def _position(words: Words, used: TracePosition | None) -> tuple[str, str, str]:
    """What its source states, the radius that counts, how it is known."""
    if used is None:
        return ("", "", message(words, "survey.not_known", {}))
    stated = ""
    if used.stated_m is not None:
        values = {
            "source": used.source,
            "m": fixed_text(words, used.stated_m, 1),
            "times": fixed_text(words, used.stated_pct or 0.0, 0),
        }
        stated = message(words, f"pack.trace.{'stated_by' if used.source else 'stated'}", values)
    within = message(words, "pack.trace.within", {"m": fixed_text(words, used.radius_m, 1)})
    return (stated, within, known_word(words, used.known))


def _joints(words: Words, one: TraceJoints) -> Row:
    ends = {"from_m": place_text(words, one.from_m), "to_m": place_text(words, one.to_m)}
    pipes = {
        "count": str(one.count),
        "m": fixed_text(words, one.pipe_m, 2),
        "known": known_word(words, one.pipe_known),
    }
    return (
        message(words, "pack.trace.joints", ends),
        message(words, "pack.trace.pipes", pipes),
        message(words, "pack.trace.sd_each", {"deg": fixed_text(words, one.sd_deg or 0.0, 1)}),
        message(words, "pack.trace.common_practice", {}),
    )


def _sd(words: Words, deg: float | None) -> str:
    return message(words, "pack.trace.sd", {"deg": fixed_text(words, deg or 0.0, 1)})


def _plan(words: Words, trace: Trace) -> str:
    if trace.plan_low_m is None or trace.plan_high_m is None:
        return message(words, "survey.not_known", {})
    if trace.plan_high_m - trace.plan_low_m < 0.005:
        return length_text(words, trace.plan_low_m, 2)
    ends = {"from_m": place_text(words, trace.plan_low_m), "to_m": place_text(words, trace.plan_high_m)}
    return message(words, "pack.ends", ends)


def _axis(words: Words, value_m: float, plus: str, minus: str) -> str:
    way = plus if value_m >= 0 else minus
    return message(words, f"pack.trace.{way}", {"m": fixed_text(words, abs(value_m), 1)})
