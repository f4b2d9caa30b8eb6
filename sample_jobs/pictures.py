"""Drawn views of the inside of a pipe, for the sample jobs.  Ours, invented, no photograph in them.

A view looks along the axis of a round pipe. A pixel at the distance ``r`` from the vanishing
point shows the wall at the depth ``NEAR_PX / r`` (in pipe radii); everything follows from that.
"""

import io
import math
import random
from collections.abc import Callable
from dataclasses import dataclass, field
from itertools import pairwise

import font_source_sans_pro
from PIL import Image, ImageDraw, ImageFilter, ImageFont

WIDTH, HEIGHT = 1024, 768
CENTRE = (512.0, 380.0)
NEAR_PX = 470.0  # radius of the pipe on the picture at depth 1
CONCRETE = (150, 143, 130)
CLAY = (168, 104, 74)
PLASTIC = (74, 92, 104)

Details = Callable[["View", Image.Image, random.Random], Image.Image]


@dataclass(frozen=True)
class View:
    """What a picture shows: the wall, its joints, water, and details drawn on top."""

    caption: str
    wall: tuple[int, int, int] = CONCRETE
    beyond: tuple[float, tuple[int, int, int]] | None = None  # another wall from this depth on
    joints: tuple[float, ...] = (1.35, 2.3, 4.2, 8.0)
    step_at: float = 0.0  # a joint out of position at this depth
    water: float | None = None  # height of the water below the axis, in radii (0.9 is shallow)
    details: tuple[Details, ...] = field(default=())


def place(clock: float, depth: float) -> tuple[float, float]:
    """Return the pixel of a point of the wall: clock position and depth in radii."""
    angle = math.radians(clock * 30)
    radius = NEAR_PX / depth
    return CENTRE[0] + radius * math.sin(angle), CENTRE[1] - radius * math.cos(angle)


def draw(view: View, seed: int) -> bytes:
    """Return the picture as JPEG bytes; the same view and seed give the same picture."""
    rng = random.Random(seed)  # noqa: S311 - a drawing, not a secret
    image = _wall(view, rng).resize((WIDTH, HEIGHT), Image.Resampling.BICUBIC)
    for detail in view.details:
        image = detail(view, image, rng)
    return finish(image, view.caption, rng)


def finish(image: Image.Image, caption: str, rng: random.Random, dark: float = 0.62) -> bytes:
    """Return ``image`` with lamp falloff, grain and its caption strip, as JPEG bytes."""
    lamp = Image.radial_gradient("L").resize((WIDTH, HEIGHT)).point(lambda v: 255 - int(v * dark))
    image = Image.composite(image, Image.new("RGB", image.size, (6, 8, 9)), lamp)
    noise = Image.frombytes("L", (512, 384), rng.randbytes(512 * 384)).resize(image.size)
    grain = Image.merge("RGB", (noise,) * 3)
    image = Image.blend(image, grain, 0.035)
    pen = ImageDraw.Draw(image, "RGBA")
    pen.rectangle((0, HEIGHT - 46, WIDTH, HEIGHT), fill=(8, 14, 17, 190))
    pen.text((20, HEIGHT - 39), caption, font=_font(24), fill=(235, 238, 236, 255))
    out = io.BytesIO()
    image.save(out, "JPEG", quality=82, optimize=True, subsampling=2)
    return out.getvalue()


def _font(size: int) -> ImageFont.FreeTypeFont:
    return ImageFont.truetype(font_source_sans_pro.font_files_ttf["SourceSansProSemibold"], size)


def _wall(view: View, rng: random.Random) -> Image.Image:
    """Shade the wall, the joints and the water at half size, pixel by pixel."""
    width, height = WIDTH // 2, HEIGHT // 2
    patch = [[rng.gauss(0, 1) for _ in range(72)] for _ in range(160)]
    pixels = bytearray()
    cx, cy, near = CENTRE[0] / 2, CENTRE[1] / 2, NEAR_PX / 2
    for y in range(height):
        for x in range(width):
            dx, dy = x + 0.5 - cx, y + 0.5 - cy
            light = 1.0
            depth = near / max(math.hypot(dx, dy), 0.5)
            if view.water is not None and dy > 0 and view.water * near / dy < depth:
                surface = view.water * near / dy
                ripple = math.sin(surface * 23 + dx * 0.05) + math.sin(dx * 0.21 / surface + 2)
                dy, light = -dy * (0.82 + 0.02 * ripple), 0.62 + 0.05 * ripple
                depth = near / max(math.hypot(dx, dy), 0.5)
            pixels += _shade(view, patch, dx, dy, depth, light)
    return Image.frombytes("RGB", (width, height), bytes(pixels))


def _shade(view: View, patch: list[list[float]], dx: float, dy: float, depth: float, light: float) -> bytes:
    if view.step_at and depth > view.step_at:  # beyond the step the pipe sits lower and to the right
        depth = NEAR_PX / 2 / max(math.hypot(dx - 5, dy - 13), 0.5)
        if depth < view.step_at:
            return bytes((int(60 * light), int(54 * light), int(48 * light)))
    angle = math.atan2(dx, -dy) / math.tau % 1
    log = math.log(depth + 0.2) * 22
    row, column = int(log) % 160, angle * 72
    a, b = patch[row][int(column) % 72], patch[row][(int(column) + 1) % 72]
    c = patch[(row + 1) % 160][int(column) % 72]
    grain = a + (b - a) * (column % 1) + (c - a) * (log % 1)
    base = view.beyond[1] if view.beyond and depth > view.beyond[0] else view.wall
    fall = light * min(1.0, 1.55 / (0.55 + depth * 0.62)) * (1 + 0.06 * grain)
    damp = abs(angle - 0.5) < 0.10 + 0.01 * grain  # the invert is darker where water runs
    fall *= 0.66 if damp else 1.0
    for joint in (*view.joints, *((view.beyond[0],) if view.beyond else ())):
        off = (depth - joint) / joint
        if abs(off) < 0.030:
            fall *= 0.38 if off > -0.012 else 1.22
    warm = 1.0 + 0.05 * math.cos(math.tau * angle)
    return bytes(min(255, max(0, int(v * fall * w))) for v, w in zip(base, (warm, 1, 2 - warm), strict=True))


def _layer(image: Image.Image) -> tuple[Image.Image, ImageDraw.ImageDraw]:
    layer = Image.new("RGBA", image.size, (0, 0, 0, 0))
    return layer, ImageDraw.Draw(layer)


def _onto(image: Image.Image, layer: Image.Image, soften: float = 0.8) -> Image.Image:
    return Image.alpha_composite(
        image.convert("RGBA"), layer.filter(ImageFilter.GaussianBlur(soften))
    ).convert("RGB")


def roots(clock_from: float, clock_to: float, depth: float, amount: int) -> Details:
    """Roots that hang in through a joint."""

    def add(view: View, image: Image.Image, rng: random.Random) -> Image.Image:
        layer, pen = _layer(image)
        for _ in range(amount):
            x, y = place(rng.uniform(clock_from, clock_to), depth)
            heading = math.atan2(CENTRE[1] - y, CENTRE[0] - x) + rng.gauss(0, 0.5)
            thick, tone = rng.uniform(1.5, 6), rng.randint(-25, 25)
            for _ in range(rng.randint(18, 46)):
                heading += rng.gauss(0, 0.22) + 0.05 * math.cos(heading)
                nx, ny = x + 6 * math.cos(heading), y + 6 * math.sin(heading)
                fill = (128 + tone, 96 + tone, 62 + tone, 255)
                pen.line((x + 2, y + 3, nx + 2, ny + 3), (20, 14, 8, 120), max(1, round(thick)))
                pen.line((x, y, nx, ny), fill, max(1, round(thick)))
                x, y, thick = nx, ny, thick * 0.965
        return _onto(image, layer)

    return add


def crack(clock: float, depth_from: float, depth_to: float, open_px: float = 5) -> Details:
    """A crack that runs along the pipe."""

    def add(view: View, image: Image.Image, rng: random.Random) -> Image.Image:
        layer, pen = _layer(image)
        points, at, depth = [], clock, depth_from
        while depth < depth_to:
            points.append((*place(at, depth), depth))
            at, depth = at + rng.gauss(0, 0.045), depth * 1.035
        for (x0, y0, d), (x1, y1, _) in pairwise(points):
            width = max(1, round(open_px * rng.uniform(0.6, 1.3) / d))
            pen.line((x0 + 2, y0 - 2, x1 + 2, y1 - 2), (225, 205, 180, 110), width + 1)
            pen.line((x0, y0, x1, y1), (14, 10, 8, 255), width)
            if rng.random() < 0.12:
                pen.line((x0, y0, x0 + rng.gauss(0, 26), y0 + rng.gauss(0, 18)), (20, 15, 12, 220), 1)
        return _onto(image, layer, 0.6)

    return add


def crack_around(depth: float, clock_from: float, clock_to: float) -> Details:
    """A crack around the circumference."""

    def add(view: View, image: Image.Image, rng: random.Random) -> Image.Image:
        layer, pen = _layer(image)
        steps = [clock_from + (clock_to - clock_from) * i / 70 for i in range(71)]
        points = [place(c, depth * (1 + rng.gauss(0, 0.012))) for c in steps]
        pen.line([(x, y + 3) for x, y in points], (230, 208, 184, 120), 4)
        pen.line(points, (12, 9, 8, 255), 4)
        return _onto(image, layer, 0.7)

    return add


def stones(clock_from: float, clock_to: float, near: float, far: float, amount: int) -> Details:
    """Gravel and silt lying in the invert, the far stones drawn first."""

    def add(view: View, image: Image.Image, rng: random.Random) -> Image.Image:
        layer, pen = _layer(image)
        depths = sorted((rng.uniform(near, far) for _ in range(amount)), reverse=True)
        for depth in depths:
            x, y = place(rng.gauss((clock_from + clock_to) / 2, (clock_to - clock_from) / 5), depth)
            w = rng.uniform(9, 30) / depth * 1.6
            h, lift = w * rng.uniform(0.5, 0.8), rng.uniform(0, 46) / depth
            tone = rng.randint(-28, 28) - int(depth * 14)
            box = (x - w, y - h - lift, x + w, y + h - lift)
            pen.ellipse([v + 4 for v in box], (10, 8, 6, 150))
            pen.ellipse(box, (126 + tone, 112 + tone, 92 + tone, 255))
            pen.ellipse(
                (box[0] + w * 0.4, box[1] + h * 0.2, box[2] - w * 0.7, box[3] - h * 1.2),
                (160 + tone, 146 + tone, 122 + tone, 200),
            )
        return _onto(image, layer, 1.0)

    return add


def connection(clock: float, depth: float, size: float, running: bool = False) -> Details:
    """The mouth of a connecting pipe in the wall."""

    def add(view: View, image: Image.Image, rng: random.Random) -> Image.Image:
        long, wide = NEAR_PX / depth * size * 0.72, NEAR_PX / depth * size
        stamp = Image.new("RGBA", (int(long * 4) + 8, int(wide * 4) + 8), (0, 0, 0, 0))
        pen = ImageDraw.Draw(stamp)
        mx, my = stamp.width / 2, stamp.height / 2
        for grow, fill in (
            (1.22, (188, 178, 160, 255)), (1.10, (96, 82, 70, 255)), (1.0, (16, 14, 13, 255)),
        ):  # fmt: skip
            pen.ellipse((mx - long * grow, my - wide * grow, mx + long * grow, my + wide * grow), fill)
        turned = stamp.rotate(-(clock * 30 - 90), expand=True, resample=Image.Resampling.BICUBIC)
        x, y = place(clock, depth)
        layer, pen = _layer(image)
        layer.alpha_composite(turned, (int(x - turned.width / 2), int(y - turned.height / 2)))
        if running:
            bottom = 6.0 if clock <= 6 else 6.0 - 12
            for i in range(46):
                end = bottom + rng.gauss(0, 0.35)
                wet = [place(clock + (end - clock) * k / 30, depth * (1 + 0.05 * rng.gauss(0, 0.2) + i / 900))
                       for k in range(4, 31)]  # fmt: skip
                pen.line(wet, (196, 206, 204, 70), 3)
        return _onto(image, layer, 0.9)

    return add


def block(clock: float, depth: float, size: float) -> Details:
    """A lump of masonry that stands in the bore."""

    def add(view: View, image: Image.Image, rng: random.Random) -> Image.Image:
        x, y = place(clock, depth)
        s = NEAR_PX / depth * size
        layer, pen = _layer(image)
        top = [(x - s * 0.9, y - s * 1.25), (x + s * 0.7, y - s * 1.4), (x + s * 1.05, y - s * 1.1),
               (x - s * 0.7, y - s * 0.95)]  # fmt: skip
        front = [top[3], top[2], (x + s * 1.0, y + s * 0.15), (x - s * 0.85, y + s * 0.1)]
        side = [top[0], top[3], front[3], (x - s * 1.05, y - s * 0.15)]
        pen.polygon([(px + 10, py + 12) for px, py in front], (5, 5, 5, 150))
        pen.polygon(side, (84, 62, 50, 255))
        pen.polygon(top, (168, 132, 108, 255))
        pen.polygon(front, (132, 88, 66, 255))
        for part in (0.33, 0.66):
            pen.line((x - s * 0.76, y - s * (0.95 - part), x + s * 1.02, y - s * (1.1 - part * 1.2)),
                     (190, 178, 160, 200), max(2, int(s * 0.04)))  # fmt: skip
        return _onto(image, layer, 1.1)

    return add


def outfall(caption: str, seed: int) -> bytes:
    """Return a drawn outside view: a headwall with its pipe above a muddy creek."""
    rng = random.Random(seed)  # noqa: S311 - a drawing, not a secret
    image = Image.new("RGB", (WIDTH, HEIGHT))
    pen = ImageDraw.Draw(image, "RGBA")
    for y in range(HEIGHT):
        t = y / HEIGHT
        pen.line((0, y, WIDTH, y), (int(196 - 70 * t), int(208 - 80 * t), int(212 - 104 * t)))
    pen.polygon([(0, 250), (260, 150), (760, 130), (1024, 230), (1024, 560), (0, 560)], (104, 116, 78, 255))
    for _ in range(2600):
        x, y = rng.uniform(0, WIDTH), rng.uniform(170, 520)
        tone = rng.randint(-26, 26)
        pen.line(
            (x, y, x + rng.gauss(0, 4), y - rng.uniform(6, 20)), (104 + tone, 118 + tone, 72 + tone, 190), 2
        )
    pen.rectangle((250, 250, 774, 610), (156, 150, 140, 255))
    pen.rectangle((236, 232, 788, 262), (176, 170, 158, 255))
    for _ in range(900):
        x, y = rng.uniform(252, 772), rng.uniform(264, 606)
        pen.ellipse((x, y, x + rng.uniform(1, 5), y + rng.uniform(1, 4)), (110, 106, 98, 70))
    pen.ellipse((392, 330, 632, 570), (120, 114, 104, 255))
    pen.ellipse((408, 346, 616, 554), (18, 20, 20, 255))
    pen.chord((408, 346, 616, 554), 50, 130, (88, 98, 96, 255))
    pen.polygon([(0, 610), (1024, 590), (1024, 768), (0, 768)], (98, 88, 70, 255))
    for i in range(160):
        y = 640 + i * 0.6
        pen.line((rng.uniform(0, 500), y, rng.uniform(520, 1024), y + rng.gauss(0, 2)),
                 (142, 150, 146, 40), 2)  # fmt: skip
    pen.polygon([(450, 548), (574, 548), (620, 690), (404, 690)], (128, 140, 138, 170))
    return finish(image.filter(ImageFilter.GaussianBlur(1.2)), caption, rng, 0.25)
