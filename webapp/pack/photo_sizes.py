"""How large a photo is printed: as wide as its place, never taller than lets several stand on a page.

A page is 487 pt wide inside its margins and 720 pt high.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypedDict

from .pictures import Picture

BESIDE_PT, THIRD_PT, WHOLE_PT = 148.0, 156.0, 487.0
TALLEST_PT = 208.0  # three rows with their captions on a page
IN_A_ROW = 3
PANORAMA = 2.0  # times as wide as high
TALLEST_PANORAMA_PT = 244.0


class SizeData(TypedDict):
    """A size as the template takes it, in points."""

    width: float
    height: float
    whole: bool


class PhotoData(TypedDict):
    """A photo as the template takes it; without ``file`` the caption says why it is not shown."""

    file: str
    alt: str
    caption: str
    size: SizeData


@dataclass(frozen=True)
class Size:
    """A printed photo; ``whole``: it has a row of its own."""

    width_pt: float
    height_pt: float
    whole: bool

    def as_data(self) -> SizeData:
        """Return it as the template takes it."""
        return {"width": self.width_pt, "height": self.height_pt, "whole": self.whole}


def size_of(picture: Picture, place_pt: float = THIRD_PT) -> Size:
    """Return the size of a photo in a place so wide; a panorama takes the width of the page."""
    if picture.height_px < 1 or picture.width_px < 1:
        return Size(place_pt, 0.0, False)
    panorama = is_panorama(picture)
    wide, tall = (WHOLE_PT, TALLEST_PANORAMA_PT) if panorama else (place_pt, TALLEST_PT)
    scale = min(wide / picture.width_px, tall / picture.height_px)
    return Size(round(picture.width_px * scale, 2), round(picture.height_px * scale, 2), panorama)


def is_panorama(picture: Picture) -> bool:
    """Say whether a picture would be a thin strip in a column."""
    return picture.width_px >= PANORAMA * picture.height_px > 0


def goes_beside(pictures: list[Picture]) -> bool:
    """Say whether the photos of an observation stand beside its words: one that is no panorama."""
    return len(pictures) == 1 and not is_panorama(pictures[0])


def rows_of(photos: Sequence[PhotoData]) -> list[list[PhotoData]]:
    """Return printed photos in rows of three, in their order; a panorama has a row of its own."""
    rows: list[list[PhotoData]] = []
    for photo in photos:
        alone = photo["size"]["whole"]
        if not rows or alone or len(rows[-1]) == IN_A_ROW or rows[-1][0]["size"]["whole"]:
            rows.append([])
        rows[-1].append(photo)
    return rows
