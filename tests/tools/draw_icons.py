"""Draw the app's icons.  Run it again after a change: the same program gives the same bytes.

    python tests/tools/draw_icons.py

The mark is a pipe that falls past a levelling staff, with the level line of the instrument.
"""

from pathlib import Path

from PIL import Image, ImageDraw

OUT = Path(__file__).resolve().parents[2] / "static" / "icons"
PETROL, DEEP, PAPER, BRASS = "#0a4650", "#062f37", "#f6f1e6", "#f5b93f"
SIZE = 512
SCALE = 4

# The staff's graduations, (left, top, width) in 512ths; every second one is long.
TICKS = [(116, 96 + 32 * i, 56 if i % 2 == 0 else 32) for i in range(11)]
PIPE = [(196, 196), (420, 284), (420, 372), (196, 284)]


def svg(rounded: bool) -> str:
    """Return the mark as SVG, on a rounded tile or alone on the band's own petrol."""
    ticks = "".join(f'<rect x="{x}" y="{y}" width="{w}" height="12"/>' for x, y, w in TICKS)
    pipe = " ".join(f"{x},{y}" for x, y in PIPE)
    tile = f'<rect width="512" height="512" rx="112" fill="{PETROL}"/>' if rounded else ""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 512 512">{tile}'
        f'<rect x="92" y="84" width="12" height="344" fill="{PAPER}"/><g fill="{PAPER}">{ticks}</g>'
        f'<polygon points="{pipe}" fill="{PAPER}"/>'
        f'<ellipse cx="420" cy="328" rx="22" ry="44" fill="{DEEP}"/>'
        f'<ellipse cx="420" cy="328" rx="22" ry="44" fill="none" stroke="{PAPER}" stroke-width="12"/>'
        f'<rect x="92" y="140" width="342" height="14" fill="{BRASS}"/></svg>\n'
    )


def picture(size: int, *, inset: float, radius: float) -> Image.Image:
    """Return the tile with the mark drawn into its middle ``1 - 2 * inset``."""
    side = size * SCALE
    image = Image.new("RGBA", (side, side), (0, 0, 0, 0))
    draw = ImageDraw.Draw(image)
    draw.rounded_rectangle((0, 0, side - 1, side - 1), radius * side, fill=PETROL)
    k = side * (1 - 2 * inset) / SIZE
    off = side * inset

    def at(x: float, y: float) -> tuple[float, float]:
        return off + x * k, off + y * k

    def box(x: float, y: float, w: float, h: float, fill: str) -> None:
        draw.rectangle((*at(x, y), *at(x + w, y + h)), fill=fill)

    box(92, 84, 12, 344, PAPER)
    for x, y, w in TICKS:
        box(x, y, w, 12, PAPER)
    draw.polygon([at(x, y) for x, y in PIPE], fill=PAPER)
    draw.ellipse((*at(392, 278), *at(448, 378)), fill=PAPER)
    draw.ellipse((*at(404, 290), *at(436, 366)), fill=DEEP)
    box(92, 140, 342, 14, BRASS)
    return image.resize((size, size), Image.Resampling.LANCZOS)


def main() -> None:
    """Write every icon."""
    OUT.mkdir(parents=True, exist_ok=True)
    (OUT / "fallbook.svg").write_text(svg(rounded=True), encoding="utf-8")
    (OUT / "mark.svg").write_text(svg(rounded=False), encoding="utf-8")
    picture(192, inset=0.0, radius=0.22).save(OUT / "icon-192.png", optimize=True)
    picture(512, inset=0.0, radius=0.22).save(OUT / "icon-512.png", optimize=True)
    picture(512, inset=0.12, radius=0.0).save(OUT / "maskable-512.png", optimize=True)
    picture(180, inset=0.04, radius=0.0).convert("RGB").save(OUT / "apple-180.png", optimize=True)


if __name__ == "__main__":
    main()
