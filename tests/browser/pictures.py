"""Pictures for the tests, drawn here."""

import io

from PIL import Image, ImageDraw


def picture(number: int) -> bytes:
    """Return a small JPEG that differs for each number."""
    image = Image.new("RGB", (640, 480), (60 + 20 * (number % 8), 80, 70))
    draw = ImageDraw.Draw(image)
    draw.ellipse((120, 40, 520, 440), fill=(30, 30 + 9 * (number % 16), 30))
    draw.text((20, 20), f"picture {number}", fill=(255, 255, 255))
    out = io.BytesIO()
    image.save(out, "JPEG", quality=80)
    return out.getvalue()
