"""The trace of a run as a plan sketch in SVG: north arrow, scale bar, bends, the ellipse of the end."""

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from ..report_model.plan import Trace, TracePoint
from ..report_model.run import Run
from ..survey.plan.run_places import ellipse_outline
from ..survey.wording.messages import Words, message, number_text
from ..survey.wording.quantities import fixed_text
from ..survey.wording.recorded import north_word
from .svg import ACCENT, AMBER, GREY, INK, STEPS, line, polygon, text

WIDTH, HEIGHT = 780, 430
EDGE, LEGEND = 46, 150  # px left free around the sketch, and at its right for the arrow and the bar


@dataclass(frozen=True)
class _View:
    """East and north to places on the drawing, the same scale both ways."""

    px_per_m: float
    e_m: float
    n_m: float

    def at(self, e_m: float, n_m: float) -> tuple[float, float]:
        return (
            (WIDTH - LEGEND) / 2 + (e_m - self.e_m) * self.px_per_m,
            HEIGHT / 2 - (n_m - self.n_m) * self.px_per_m,
        )


def plan_svg(words: Words, run: Run, clean: Callable[[str], str] = str) -> str | None:
    """Return the plan of a run, or None without a trace."""
    trace = run.figures.trace
    if trace is None or len(trace.points) < 2:
        return None
    view = _view(trace)
    names = [clean(name[:24]) for name in _names(words, run)]
    parts = [
        *_ellipses(view, trace), *_pipe(view, trace), *_observations(view, run, trace),
        *_bends(words, view, trace), *_ends(view, trace, names), *_north(words, trace), *_bar(words, view),
    ]  # fmt: skip
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" width="{WIDTH}" '
        f'height="{HEIGHT}">{"".join(parts)}</svg>\n'
    )


def _outline(point: TracePoint) -> list[tuple[float, float]]:
    ring = ellipse_outline(point.semi_major_m, point.semi_minor_m, point.azimuth_deg)
    return [(point.e_m + e, point.n_m + n) for e, n in ring]


def _view(trace: Trace) -> _View:
    corners = [c for p in (trace.points[0], trace.points[-1]) for c in _outline(p)]
    corners += [(p.e_m, p.n_m) for p in trace.points]
    east, north = [c[0] for c in corners], [c[1] for c in corners]
    wide, high = max(max(east) - min(east), 1.0), max(max(north) - min(north), 1.0)
    scale = min((WIDTH - LEGEND - 2 * EDGE) / wide, (HEIGHT - 2 * EDGE) / high)
    return _View(scale, (max(east) + min(east)) / 2, (max(north) + min(north)) / 2)


def _ellipses(view: _View, trace: Trace) -> Iterable[str]:
    for point, colour in ((trace.points[0], GREY), (trace.points[-1], AMBER)):
        if point.semi_major_m * view.px_per_m > 3:
            ring = [view.at(e, n) for e, n in _outline(point)]
            yield polygon(ring, colour, f' fill-opacity="0.12" stroke="{colour}" stroke-dasharray="5 4"')


def _pipe(view: _View, trace: Trace) -> Iterable[str]:
    for before, here in pairwise(trace.points):
        (x1, y1), (x2, y2) = view.at(before.e_m, before.n_m), view.at(here.e_m, here.n_m)
        yield line(x1, y1, x2, y2, ACCENT, 4)


def _observations(view: _View, run: Run, trace: Trace) -> Iterable[str]:
    defects = {o.record_id for o in run.observations if o.group in ("fabric", "operation")}
    for placed in trace.placed:
        if placed.record_id in defects:
            x, y = view.at(placed.e_m, placed.n_m)
            ring = f'<circle cx="{x:.1f}" cy="{y:.1f}" r="3.4" fill="#fff" stroke="{ACCENT}"'
            yield f'{ring} stroke-width="1.6"/>'


def _bends(words: Words, view: _View, trace: Trace) -> Iterable[str]:
    for bend, point in zip(trace.bends, trace.points[1:-1], strict=False):
        x, y = view.at(point.e_m, point.n_m)
        side = "right" if bend.deflection_deg > 0 else "left"
        values = {
            "deg": fixed_text(words, abs(bend.deflection_deg), 0),
            "m": fixed_text(words, bend.chainage_m, 1),
        }
        label = message(words, f"pack.drawn.bend_{side}", values)
        yield polygon([(x, y - 6), (x + 6, y), (x, y + 6), (x - 6, y)], INK)
        yield text(x + 11, y + 4.5, label, 12.5, INK, "start", weight=600, halo=True)


def _names(words: Words, run: Run) -> tuple[str, str]:
    whole = run.length is None or not run.length.between  # else the trace ends where the first run did
    reached = run.finish is not None and run.end_reason == "node_reached" and whole
    start = run.start.ref if run.start else message(words, "pack.drawn.no_start", {})
    end = run.finish.ref if run.finish and reached else message(words, "pack.drawn.survey_ended", {})
    return start, end


def _ends(view: _View, trace: Trace, names: Sequence[str]) -> Iterable[str]:
    start, end = trace.points[0], trace.points[-1]
    above = end.n_m >= start.n_m
    for point, name, up in ((start, names[0], not above), (end, names[1], above)):
        x, y = view.at(point.e_m, point.n_m)
        yield f'<circle cx="{x:.1f}" cy="{y:.1f}" r="6" fill="#fff" stroke="{INK}" stroke-width="2.4"/>'
        yield text(x, y - 13 if up else y + 24, name, 14, INK, "middle", weight=600, halo=True)


def _north(words: Words, trace: Trace) -> Iterable[str]:
    x, top = WIDTH - LEGEND / 2, 40.0
    yield line(x, top + 14, x, top + 78, INK, 2.4)
    yield polygon([(x, top), (x - 9, top + 24), (x, top + 18), (x + 9, top + 24)], INK)
    yield text(x, top + 96, _north_name(words, trace.north), 13, INK, weight=600)


def _north_name(words: Words, north: str) -> str:
    known = north in ("true", "magnetic", "grid")
    return north_word(words, north) if known else message(words, "pack.drawn.north_not_known", {})


def _bar(words: Words, view: _View) -> Iterable[str]:
    rough = (LEGEND - 30) / view.px_per_m
    power = 10.0 ** math.floor(math.log10(rough))
    length = max(s * power for s in STEPS if s * power <= rough * (1 + 1e-9))
    wide = length * view.px_per_m
    x, y = WIDTH - LEGEND / 2 - wide / 2, HEIGHT - 40.0
    yield line(x, y, x + wide, y, INK, 2.4)
    for end in (x, x + wide):
        yield line(end, y - 6, end, y + 6, INK, 2.4)
    yield text(
        x + wide / 2,
        y - 11,
        message(words, "survey.metres", {"m": number_text(words, f"{length:g}")}),
        13.5,
        INK,
        weight=600,
    )
    yield text(x + wide / 2, y + 22, message(words, "pack.drawn.ellipses", {}), 12, GREY)
