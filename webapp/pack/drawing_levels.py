"""The invert on the drawing of a run: line, band, bounds, water, readings and ties."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable
from itertools import pairwise

from ..report_model.levels import Level
from ..report_model.run import Run
from .drawing_frame import BOTTOM, LEFT, RIGHT, TOP, Frame, Labels, shown_m
from .svg import ACCENT, AMBER, WATER, line, polygon, text
from .texts import number


def backfalls(frame: Frame, run: Run, labels: Labels) -> Iterable[str]:
    """Shade where the pipe falls the wrong way, or may."""
    for backfall in run.figures.backfalls:
        start, end = sorted((backfall.from_m, backfall.to_m))
        x1, x2 = frame.x(start), max(frame.x(end), frame.x(start) + 4)
        yield (
            f'<rect x="{x1:.1f}" y="{TOP}" width="{x2 - x1:.1f}" height="{BOTTOM - TOP}" fill="{AMBER}" '
            'fill-opacity="0.13"/>'
        )
        words = labels("backfall" if backfall.sure or backfall.at_least else "backfall_possible")
        yield text((x1 + x2) / 2, BOTTOM - 8, words, 12.5, AMBER, weight=600)


def band(frame: Frame, levels: list[Level]) -> Iterable[str]:
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


def water(frame: Frame, run: Run, levels: list[Level]) -> Iterable[str]:
    """Standing water, where it lies on values."""
    places = [v.chainage_m for v in levels]
    for sag in run.figures.sags:
        wet = levels[bisect_right(places, sag.from_m) : bisect_left(places, sag.to_m)]
        if sag.at_least or not wet or any(v.level_m is None for v in wet):
            continue
        top = frame.y(sag.surface_m)
        below = [(frame.x(v.chainage_m), frame.y(v.level_m or 0.0)) for v in wet]
        yield polygon([(frame.x(sag.from_m), top), *below, (frame.x(sag.to_m), top)], WATER)


def invert(frame: Frame, levels: list[Level], labels: Labels) -> Iterable[str]:
    """Draw the invert: a line where it is known, hatched where it is bounded."""
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


def stations(frame: Frame, run: Run) -> Iterable[str]:
    """Draw a dot for each reading, an arrow for one beyond the range."""
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


def level_ties(frame: Frame, run: Run, labels: Labels) -> Iterable[str]:
    """Draw the levels taken outside the pipe."""
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
