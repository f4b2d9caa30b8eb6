"""The levels drawing of a run as SVG: what was measured is a line, what is bounded is a hatched band."""

import math
from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from ..report_model.levels import Level
from ..report_model.run import Run
from ..survey.wording.messages import Words, message, number_text
from . import condensed
from .strips import Strip, lanes, placed, strips
from .svg import ACCENT, AMBER, GREY, INK, STEPS, WATER, line, polygon, text
from .texts import number

WIDTH, HEIGHT = 780, 408
LEFT, RIGHT, TOP, BOTTOM = 74, 750, 108, 318
STRIP_GAP = 14
LANE_TOP, LANE_PITCH = TOP - 8, 5  # bars of what goes on along the pipe, the first lane and the next


@dataclass(frozen=True)
class _Labels:
    """Words for a drawing, as its font can show them."""

    words: Words
    clean: Callable[[str], str]

    def __call__(self, key: str, **values: str) -> str:
        return self.clean(message(self.words, f"pack.drawn.{key}", values))


@dataclass(frozen=True)
class Frame:
    """Chainage and level to places on the drawing."""

    from_m: float
    to_m: float
    low_m: float
    high_m: float

    def x(self, chainage_m: float) -> float:
        """Return the place across."""
        return LEFT + (RIGHT - LEFT) * (chainage_m - self.from_m) / (self.to_m - self.from_m)

    def y(self, level_m: float) -> float:
        """Return the place down."""
        share = (level_m - self.low_m) / (self.high_m - self.low_m)
        return BOTTOM - (BOTTOM - TOP) * min(1.15, max(-0.15, share))


def shown_m(level: Level) -> float:
    """Return the side of a level that means something."""
    shown = (
        level.high_m if level.sense == "at_most" else level.low_m if level.level_m is None else level.level_m
    )
    return 0.0 if shown is None else shown  # never None: stations without any bound are not drawn


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
        drawn.append(_strip(_Labels(words, clean), condensed.drawn_run(here), near, whole, strip))
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


def _strip(labels: _Labels, run: Run, levels: list[Level], whole: Frame, strip: Strip) -> str:
    frame = replace(whole, from_m=strip.from_m, to_m=strip.to_m)
    behind = [*_unseen(frame, run, labels), *_backfalls(frame, run, labels)]
    figures = [*_band(frame, levels), *_water(frame, run, levels), *_line(frame, levels, labels)]
    if not strip.whole:
        clipped = '<g clip-path="url(#c)">'
        behind, figures = [clipped, *behind, "</g>"], [clipped, *figures, "</g>"]
    parts = [
        *_grid(frame, run, labels), *behind, *_observations(frame, run, strip, labels), *figures,
        *_stations(frame, run), *_ties(frame, run, labels), *_ends(frame, run, labels),
        *_stretches(frame, run, labels), *_flow(run, labels), *_strip_name(strip, labels),
    ]  # fmt: skip
    return "".join(parts)


def _near(levels: list[Level], places: Sequence[float], strip: Strip) -> list[Level]:
    """Return the stations of a strip, and the next one on either side; all for the whole run."""
    if strip.whole:
        return levels
    first, last = bisect_left(places, strip.from_m), bisect_right(places, strip.to_m)
    return levels[max(min(first, len(levels) - 1) - 1, 0) : last + 1]


def _strip_name(strip: Strip, labels: _Labels) -> Iterable[str]:
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


def _grid(frame: Frame, run: Run, labels: _Labels) -> Iterable[str]:
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


def _unseen(frame: Frame, run: Run, labels: _Labels) -> Iterable[str]:
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


def _backfalls(frame: Frame, run: Run, labels: _Labels) -> Iterable[str]:
    for backfall in run.figures.backfalls:
        start, end = sorted((backfall.from_m, backfall.to_m))
        x1, x2 = frame.x(start), max(frame.x(end), frame.x(start) + 4)
        yield (
            f'<rect x="{x1:.1f}" y="{TOP}" width="{x2 - x1:.1f}" height="{BOTTOM - TOP}" fill="{AMBER}" '
            'fill-opacity="0.13"/>'
        )
        words = labels("backfall" if backfall.sure or backfall.at_least else "backfall_possible")
        yield text((x1 + x2) / 2, BOTTOM - 8, words, 12.5, AMBER, weight=600)


def _band(frame: Frame, levels: list[Level]) -> Iterable[str]:
    """The 95 % band, where there are values."""
    for before, here in pairwise(levels):
        if before.level_m is None or here.level_m is None:
            continue
        if before.band_high_m is None or here.band_high_m is None:
            continue
        if before.band_low_m is None or here.band_low_m is None:
            continue
        x1, x2 = frame.x(before.chainage_m), frame.x(here.chainage_m)
        yield polygon(
            [(x1, frame.y(before.band_high_m)), (x2, frame.y(here.band_high_m)),
             (x2, frame.y(here.band_low_m)), (x1, frame.y(before.band_low_m))], ACCENT,
            ' fill-opacity="0.15"',
        )  # fmt: skip


def _water(frame: Frame, run: Run, levels: list[Level]) -> Iterable[str]:
    """Standing water, where it lies on values."""
    places = [v.chainage_m for v in levels]
    for sag in run.figures.sags:
        wet = levels[bisect_right(places, sag.from_m) : bisect_left(places, sag.to_m)]
        if sag.at_least or not wet or any(v.level_m is None for v in wet):
            continue
        top = frame.y(sag.surface_m)
        below = [(frame.x(v.chainage_m), frame.y(v.level_m or 0.0)) for v in wet]
        yield polygon([(frame.x(sag.from_m), top), *below, (frame.x(sag.to_m), top)], WATER)


def _line(frame: Frame, levels: list[Level], labels: _Labels) -> Iterable[str]:
    for before, here in pairwise(levels):
        x1, x2 = frame.x(before.chainage_m), frame.x(here.chainage_m)
        y1, y2 = frame.y(shown_m(before)), frame.y(shown_m(here))
        sense = here.sense or before.sense
        if sense:
            open_side = -46 if sense == "at_least" else 46
            if sense == "between" and here.high_m is not None and before.high_m is not None:
                far = [(x2, frame.y(here.high_m)), (x1, frame.y(before.high_m))]
            else:
                far = [
                    (x2, y2 + (open_side if here.sense else 0)),
                    (x1, y1 + (open_side if before.sense else 0)),
                ]
            yield polygon([(x1, y1), (x2, y2), *far], "url(#h)", ' clip-path="url(#c)"')
            yield line(x1, y1, x2, y2, ACCENT, 2.2, dash="7 5")
        else:
            yield line(x1, y1, x2, y2, ACCENT, 2.8, dash="2 5" if here.known == "assumed" else "")
    bounded = [v for v in levels if v.sense and frame.from_m <= v.chainage_m <= frame.to_m]
    if bounded:
        middle = bounded[len(bounded) // 2]
        down = 20 if middle.sense == "at_least" else -14
        label = labels(middle.sense if middle.sense in ("at_least", "at_most") else "between")
        x, y = frame.x(middle.chainage_m), frame.y(shown_m(middle)) + down
        anchor = "end" if x > RIGHT - 110 else "middle"
        yield text(x, y, label, 13.5, ACCENT, anchor, weight=600, halo=True)


def _stations(frame: Frame, run: Run) -> Iterable[str]:
    for reading in run.readings:
        if reading.level is None or reading.level.sense == "unknown":
            continue
        if not frame.from_m <= reading.level.chainage_m <= frame.to_m:
            continue
        x, y = frame.x(reading.level.chainage_m), frame.y(shown_m(reading.level))
        if reading.over:
            tip = -9 if reading.over > 0 else 9
            yield polygon([(x - 6, y), (x + 6, y), (x, y + tip)], ACCENT)
        else:
            dot = f'<circle cx="{x:.1f}" cy="{y:.1f}" r="2.9" fill="#fff" stroke="{ACCENT}"'
            yield f'{dot} stroke-width="1.5"/>'


def _ties(frame: Frame, run: Run, labels: _Labels) -> Iterable[str]:
    for tie in run.figures.ties:
        if (
            tie.chainage_m is None
            or tie.invert_level_m is None
            or not frame.from_m <= tie.chainage_m <= frame.to_m
        ):
            continue
        x, y = frame.x(tie.chainage_m), frame.y(tie.invert_level_m)
        fill = AMBER if tie.suspect else "#fff"
        yield polygon(
            [(x, y - 2), (x - 8, y - 17), (x + 8, y - 17)], fill, f' stroke="{AMBER}" stroke-width="2"'
        )
        anchor = "start" if x < LEFT + 60 else "end" if x > RIGHT - 60 else "middle"
        off = 15 if anchor == "end" else -23  # a line that falls to its end leaves room below it
        words = labels("tie", m=number(labels.words, tie.invert_level_m, 3))
        yield text(x - 4, y + off, words, 12.5, AMBER, anchor, weight=600, halo=True)


def _observations(frame: Frame, run: Run, strip: Strip, labels: _Labels) -> Iterable[str]:
    yield from _continuous(frame, run)
    for observation in placed(run.observations, frame.to_m):
        if strip.holds(observation.chainage_m or 0.0):
            x = frame.x(observation.chainage_m or 0.0)
            yield line(x, TOP - 12, x, TOP + 4, GREY, 1.4)
    places = _apart([frame.x(o.chainage_m or 0.0) for o in strip.named], 15)
    for observation, at in zip(strip.named, places, strict=True):
        yield line(at, TOP - 30, frame.x(observation.chainage_m or 0.0), TOP - 12, "#b9b2a7")
        yield text(
            at + 4, TOP - 34, labels.clean(observation.compact), 12.5, INK, "start", weight=600, turn=-62
        )


def _continuous(frame: Frame, run: Run) -> Iterable[str]:
    """A bar for each feature that goes on, with its ends; what meets or overlaps lies in another lane."""
    lengths = [
        (o.chainage_m, o.finish_m)
        for o in run.observations
        if o.chainage_m is not None and o.finish_m is not None and o.finish_m >= o.chainage_m
    ]
    inside = [(a, b) for a, b in lengths if b >= frame.from_m and a <= frame.to_m]
    bars = [(max(frame.x(a), LEFT), min(frame.x(b), RIGHT)) for a, b in inside]
    for (x1, x2), (a, b), lane in zip(bars, inside, lanes(bars), strict=True):
        y = LANE_TOP + lane * LANE_PITCH
        yield line(x1, y, x2, y, GREY, 3.2)
        for x in ([x1] if a >= frame.from_m else []) + ([x2] if b <= frame.to_m else []):
            yield line(x, y - 3, x, y + 3, INK, 1.4)


def _apart(places: list[float], gap: float) -> list[float]:
    """Push labels apart, keeping their order, and back inside the drawing."""
    found: list[float] = []
    for x in places:
        found.append(max(x, found[-1] + gap) if found else x)
    limit = float(RIGHT)
    for i in range(len(found) - 1, -1, -1):
        found[i] = min(found[i], limit)
        limit = found[i] - gap
    return found


def _ends(frame: Frame, run: Run, labels: _Labels) -> Iterable[str]:
    start = run.start.ref if run.start else labels("no_start")
    if frame.from_m == 0:
        yield text(LEFT, HEIGHT - 6, labels("start", name=start[:18]), 13.5, INK, "start", weight=600)
    if run.end_m is None or run.end_m < frame.from_m:
        return
    last = frame.to_m >= run.end_m or frame.to_m >= (run.expected_m or run.end_m)
    if not last:
        return
    finish = (
        run.finish.ref
        if run.finish and run.end_reason == "node_reached"
        else labels("ended", reason=run.end_reason_label)
    )
    x = frame.x(min(run.end_m, frame.to_m))
    yield line(x, TOP, x, BOTTOM + 46, INK, 1.4, dash="4 4")
    yield text(min(x, RIGHT) - 6, BOTTOM + 38, labels("end", name=finish[:40]), 13.5, INK, "end", weight=600)


def _stretches(frame: Frame, run: Run, labels: _Labels) -> Iterable[str]:
    for place, stretch in enumerate(run.stretches):
        if stretch.from_m is None or stretch.to_m is None:
            continue
        x1, x2 = frame.x(max(stretch.from_m, frame.from_m)), frame.x(min(stretch.to_m, frame.to_m))
        if x2 - x1 < 2:
            continue
        fill = ("#d9d3c9", "#c3ced1")[place % 2]
        yield (
            f'<rect x="{x1:.1f}" y="{BOTTOM + 46}" width="{x2 - x1:.1f}" height="20" fill="{fill}" '
            'stroke="#fff" stroke-width="1.5"/>'
        )
        material, size = (
            stretch.material or labels("no_material"),
            number(labels.words, stretch.height_mm, 0, "mm"),
        )
        if stretch.disputed:
            material, size = labels("pipe_disputed"), ""
        for words in (f"{material} {size}".strip(), material, size):
            if words and len(words) * 6.4 < x2 - x1:
                yield text((x1 + x2) / 2, BOTTOM + 60.5, labels.clean(words), 12.5, INK)
                break


def _flow(run: Run, labels: _Labels) -> Iterable[str]:
    ahead = {"with_flow": 1, "against_flow": -1}.get(run.direction)
    if ahead is None:
        yield text(LEFT + 8, TOP + 18, labels("flow_not_known"), 13, GREY, "start", weight=600)
        return
    x1, x2 = (LEFT + 10, LEFT + 74) if ahead > 0 else (LEFT + 74, LEFT + 10)
    y = BOTTOM - 16 if ahead > 0 else TOP + 22
    yield line(x1, y, x2 - 6 * ahead, y, ACCENT, 2.4)
    yield polygon([(x2, y), (x2 - 12 * ahead, y - 5.5), (x2 - 12 * ahead, y + 5.5)], ACCENT)
    yield text(LEFT + 82, y + 4.5, labels("flow"), 13.5, ACCENT, "start", weight=600)
