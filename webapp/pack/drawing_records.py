"""What lies along the drawing of a run: observations, its ends, the pipe, the flow."""

from collections.abc import Iterable

from ..report_model.run import Run
from .drawing_frame import BOTTOM, HEIGHT, LEFT, RIGHT, TOP, Frame, Labels
from .strips import Strip, lanes, placed
from .svg import ACCENT, GREY, INK, line, polygon, text
from .texts import number

LANE_TOP, LANE_PITCH = TOP - 8, 5  # bars of what goes on along the pipe, the first lane and the next


def observations(frame: Frame, run: Run, strip: Strip, labels: Labels) -> Iterable[str]:
    """Draw a tick for each observation and its code where there is room."""
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


def ends(frame: Frame, run: Run, labels: Labels) -> Iterable[str]:
    """Name the start of the run, and where and how it ended."""
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


def stretches(frame: Frame, run: Run, labels: Labels) -> Iterable[str]:
    """Draw the pipe below the levels, stretch by stretch."""
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


def flow(run: Run, labels: Labels) -> Iterable[str]:
    """Draw which way the water flows."""
    ahead = {"with_flow": 1, "against_flow": -1}.get(run.direction)
    if ahead is None:
        yield text(LEFT + 8, TOP + 18, labels("flow_not_known"), 13, GREY, "start", weight=600)
        return
    x1, x2 = (LEFT + 10, LEFT + 74) if ahead > 0 else (LEFT + 74, LEFT + 10)
    y = BOTTOM - 16 if ahead > 0 else TOP + 22
    yield line(x1, y, x2 - 6 * ahead, y, ACCENT, 2.4)
    yield polygon([(x2, y), (x2 - 12 * ahead, y - 5.5), (x2 - 12 * ahead, y + 5.5)], ACCENT)
    yield text(LEFT + 82, y + 4.5, labels("flow"), 13.5, ACCENT, "start", weight=600)
