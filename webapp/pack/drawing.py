"""The levels drawing of a run as SVG: what was measured is a line, what is bounded is a hatched band."""

import math
from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace

from ..report_model.levels import Level
from ..report_model.run import Run
from ..survey.wording.messages import Words, number_text
from . import condensed
from .drawing_frame import BOTTOM, HEIGHT, LEFT, RIGHT, TOP, WIDTH, Frame, Labels, shown_m
from .drawing_levels import backfalls, band, invert, level_ties, stations, water
from .drawing_records import ends, flow, observations, stretches
from .strips import Strip, strips
from .svg import ACCENT, GREY, INK, STEPS, line, text
from .texts import number

STRIP_GAP = 14


def run_svgs(words: Words, run: Run, clean: Callable[[str], str] = str) -> list[str]:
    """Return the drawings of a run, a crowded one in several strips; none if it has no levels."""
    return [document(body, HEIGHT) for body in run_groups(words, run, clean)]


def document(body: str, height: int) -> str:
    """Return a whole SVG file around ``body``."""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height}" '
        f'width="{WIDTH}" height="{height}">'
        '<defs><pattern id="h" width="7" height="7" patternUnits="userSpaceOnUse" '
        f'patternTransform="rotate(45)"><line x1="0" y1="0" x2="0" y2="7" stroke="{ACCENT}" '
        'stroke-width="1.6" stroke-opacity="0.45"/></pattern><clipPath id="c">'
        f'<rect x="{LEFT}" y="{TOP - 4}" width="{RIGHT - LEFT}" height="{BOTTOM - TOP + 4}"/></clipPath>'
        f"</defs>{body}</svg>\n"
    )


def run_groups(words: Words, run: Run, clean: Callable[[str], str] = str) -> list[str]:
    """Return the drawings of a run as SVG elements."""
    levels = _drawn(run)
    if len(levels) < 2:
        return []
    whole, places = _frame(run, levels), [one.chainage_m for one in levels]
    read = [
        one.chainage_m for one in run.readings if one.chainage_m is not None
    ]  # in order; the rest is last
    drawn = []
    for strip in strips(run.observations, whole.to_m):
        here = run if strip.whole else _within(run, read, strip)
        near = condensed.drawn(_near(levels, places, strip), shown_m)
        drawn.append(_strip(Labels(words, clean), condensed.drawn_run(here), near, whole, strip))
    return drawn


def _within(run: Run, read: Sequence[float], strip: Strip) -> Run:
    """The run with only those readings, sags and backfalls that a strip shows."""
    first, last = bisect_left(read, strip.from_m), bisect_right(read, strip.to_m)
    figures = replace(
        run.figures,
        sags=tuple(s for s in run.figures.sags if s.to_m >= strip.from_m and s.from_m <= strip.to_m),
        backfalls=tuple(
            b
            for b in run.figures.backfalls
            if max(b.from_m, b.to_m) >= strip.from_m and min(b.from_m, b.to_m) <= strip.to_m
        ),
    )
    return replace(run, readings=run.readings[first:last], figures=figures)


def _strip(labels: Labels, run: Run, levels: list[Level], whole: Frame, strip: Strip) -> str:
    frame = replace(whole, from_m=strip.from_m, to_m=strip.to_m)
    behind = [*_unseen(frame, run, labels), *backfalls(frame, run, labels)]
    figures = [*band(frame, levels), *water(frame, run, levels), *invert(frame, levels, labels)]
    if not strip.whole:
        clipped = '<g clip-path="url(#c)">'
        behind, figures = [clipped, *behind, "</g>"], [clipped, *figures, "</g>"]
    parts = [
        *_grid(frame, run, labels), *behind, *observations(frame, run, strip, labels), *figures,
        *stations(frame, run), *level_ties(frame, run, labels), *ends(frame, run, labels),
        *stretches(frame, run, labels), *flow(run, labels), *_strip_name(strip, labels),
    ]  # fmt: skip
    return "".join(parts)


def _near(levels: list[Level], places: Sequence[float], strip: Strip) -> list[Level]:
    """Return the stations of a strip, and the next one on either side; all for the whole run."""
    if strip.whole:
        return levels
    first, last = bisect_left(places, strip.from_m), bisect_right(places, strip.to_m)
    return levels[max(min(first, len(levels) - 1) - 1, 0) : last + 1]


def _strip_name(strip: Strip, labels: Labels) -> Iterable[str]:
    if not strip.whole:
        ends = {"from_m": number(labels.words, strip.from_m, 2), "to_m": number(labels.words, strip.to_m, 2)}
        words = labels("strip", number=str(strip.number), of=str(strip.of), **ends)
        yield text(LEFT, 14, words, 13.5, INK, "start", weight=600)


def _drawn(run: Run) -> list[Level]:
    """The stations that have a value or a bound."""
    return [v for v in run.figures.levels if v.sense != "unknown"]


def _frame(run: Run, levels: list[Level]) -> Frame:
    values = [shown_m(v) for v in levels]
    values += [v.high_m for v in levels if v.sense == "between" and v.high_m is not None]
    for v in levels:
        if v.level_m is not None and v.band_low_m is not None and v.band_high_m is not None:
            values += [v.band_low_m, v.band_high_m]
    values += [t.invert_level_m for t in run.figures.ties if t.invert_level_m is not None and not t.left_out]
    low_m, high_m = min(values), max(values)
    pad = max(0.14 * (high_m - low_m), 0.03)
    lengths = [levels[-1].chainage_m, run.end_m or 0.0, run.expected_m or 0.0, 0.1]
    lengths += [o.chainage_m for o in run.observations if o.chainage_m is not None]
    return Frame(0.0, max(lengths), low_m - pad, high_m + pad)


def _step(span: float, parts: int) -> float:
    rough = span / parts
    power = 10.0 ** math.floor(math.log10(rough))
    return next((s * power for s in STEPS if s * power >= rough), 10 * power)


def _ticks(low: float, high: float, parts: int) -> list[float]:
    step = _step(high - low, parts)
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return [i * step for i in range(first, last + 1)]


def _grid(frame: Frame, run: Run, labels: Labels) -> Iterable[str]:
    step = _step(frame.high_m - frame.low_m, 7)
    digits = 2 if step < 0.1 else 1 if step < 1 else 0
    for level_m in _ticks(frame.low_m, frame.high_m, 7):
        y = frame.y(level_m)
        yield line(LEFT, y, RIGHT, y)
        yield text(LEFT - 9, y + 4.5, number(labels.words, level_m, max(digits, 1)), anchor="end")
    for chainage_m in _ticks(frame.from_m, frame.to_m, 8):
        x = frame.x(chainage_m)
        yield line(x, BOTTOM, x, BOTTOM + 5, GREY)
        yield text(x, BOTTOM + 20, number_text(labels.words, f"{chainage_m:g}"))
    yield line(LEFT, BOTTOM, RIGHT, BOTTOM, GREY, 1.2)
    yield text((LEFT + RIGHT) / 2, HEIGHT - 6, labels("chainage"), 12.5)
    datum = labels("invert_above_datum" if run.figures.absolute else "invert_above_start")
    yield text(20, (TOP + BOTTOM) / 2, datum, 12.5, turn=-90)
    across = (RIGHT - LEFT) / (frame.to_m - frame.from_m)
    down = (BOTTOM - TOP) / (frame.high_m - frame.low_m)
    yield text(
        RIGHT, HEIGHT - 6, labels("heights", times=number(labels.words, down / across, 0)), 12, anchor="end"
    )


def _unseen(frame: Frame, run: Run, labels: Labels) -> Iterable[str]:
    for start_m, end_m in _not_surveyed(run):
        x1, x2 = frame.x(start_m), frame.x(end_m)
        yield f'<rect x="{x1:.1f}" y="{TOP}" width="{x2 - x1:.1f}" height="{BOTTOM - TOP}" fill="#f1eee9"/>'
        shown1, shown2 = max(x1, LEFT), min(x2, RIGHT)
        if shown2 - shown1 > 70:
            yield text(
                (shown1 + shown2) / 2, (TOP + BOTTOM) / 2, labels("not_surveyed"), 14, GREY, weight=600
            )


def _not_surveyed(run: Run) -> Iterable[tuple[float, float]]:
    """What lies beyond the end of a run, or between the runs of a length."""
    if run.remaining_m is not None and run.surveyed_m is not None:
        yield run.surveyed_m, run.expected_m or run.surveyed_m
    if run.length is not None and run.length.joined:
        yield from run.length.between
