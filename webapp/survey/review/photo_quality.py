"""What a photo is worth: how sharp and how bright its pixels are, and whether it shows too little."""

from collections.abc import Mapping, Sequence

from ..errors import SurveyError
from ..records import PhotoFields
from ..table_types.site import LimitName

MAX_PX = 240  # finer than this, noise looks like detail
MIN_SIDE_PX = 48  # a smaller picture says nothing about focus
WHITE = 255
FLOOR = 100.0  # grey levels squared: an even tone is not sharp for the noise of its last bits


def focus_measure(grey: Sequence[int], width_px: int, height_px: int) -> float | None:
    """Return how sharp a picture is: variance of its Laplacian over the variance of its greys.

    Parameters
    ----------
    width_px, height_px : int
        Size of the picture [px]; it is reduced by a whole number to at most 240 px.

    Returns
    -------
    float or None
        A bare ratio in percent, which contrast does not change; about 0 for one even tone; None for a
        picture that has less than 48 px on a side when reduced.

    Raises
    ------
    SurveyError
        ``picture_incomplete`` if there are fewer or more greys than pixels.

    References
    ----------
    Variance of the Laplacian: J. L. Pech-Pacheco et al., Diatom autofocusing in brightfield microscopy,
    ICPR 2000 (from memory). Reducing by sums and the division by the contrast are our own.

    Examples
    --------
    >>> round(focus_measure([0, 255] * 2048, 64, 64))
    1590
    """
    if len(grey) != width_px * height_px or not grey:
        raise SurveyError("picture_incomplete", "grey")
    step = (max(width_px, height_px) + MAX_PX - 1) // MAX_PX
    width, height = width_px // step, height_px // step
    if width < MIN_SIDE_PX or height < MIN_SIDE_PX:
        return None
    sums = _sums(grey, width_px, width, height, step)
    total = total2 = edge = edge2 = 0
    for y in range(1, height - 1):
        row = y * width
        for i in range(row + 1, row + width - 1):
            here = sums[i]
            bend = sums[i - 1] + sums[i + 1] + sums[i - width] + sums[i + width] - 4 * here
            total += here
            total2 += here * here
            edge += bend
            edge2 += bend * bend
    count = (width - 2) * (height - 2)
    spread = (total2 - total * total / count) / count
    return 100 * ((edge2 - edge * edge / count) / count) / (spread + FLOOR * step**4)


def light_measure(grey: Sequence[int]) -> dict[str, float]:
    """Return how bright a picture is and how much its greys differ.

    Returns
    -------
    dict
        ``brightness_pct``: the mean; ``contrast_pct``: from the darkest to the brightest of the middle 90 %
        of the pixels; both [% of white].

    Raises
    ------
    SurveyError
        ``picture_incomplete`` if there is no pixel.

    Examples
    --------
    >>> light_measure([0, 255] * 100)
    {'brightness_pct': 50.0, 'contrast_pct': 100.0}
    """
    if not grey:
        raise SurveyError("picture_incomplete", "grey")
    counts = [0] * (WHITE + 1)
    total = 0
    for level in grey:
        counts[level] += 1
        total += level
    low, high = _level_at(counts, 0.05 * len(grey)), _level_at(counts, 0.95 * len(grey))
    return {
        "brightness_pct": 100 * total / len(grey) / WHITE,
        "contrast_pct": 100 * (high - low) / WHITE,
    }


def photo_faults(fields: PhotoFields, limits: Mapping[LimitName, float]) -> list[str]:
    """Return in what way a photo shows too little, from what was measured when it was taken.

    Parameters
    ----------
    fields : mapping
        Fields of a photo record: ``focus_pct``, ``brightness_pct``, ``contrast_pct``, ``shows_enough``.
    limits : mapping
        ``dark_pct``, ``bright_pct``, ``even_pct`` [%] and ``least_focus``.

    Returns
    -------
    list of str
        One of ``photo_dark``, ``photo_bright``, ``photo_unsharp``, or nothing: nothing is said of a photo
        that was not measured, or that somebody looked at and found good enough.

    Examples
    --------
    >>> limits = {"dark_pct": 8, "bright_pct": 92, "even_pct": 12, "least_focus": 1.5}
    >>> photo_faults({"brightness_pct": 2.0, "contrast_pct": 1.0}, limits)
    ['photo_dark']
    """
    if fields.get("shows_enough"):
        return []
    bright, contrast = fields.get("brightness_pct"), fields.get("contrast_pct")
    if bright is not None and contrast is not None and contrast < limits["even_pct"]:
        if bright < limits["dark_pct"]:
            return ["photo_dark"]
        if bright > limits["bright_pct"]:
            return ["photo_bright"]
    focus = fields.get("focus_pct")
    return ["photo_unsharp"] if focus is not None and focus < limits["least_focus"] else []


def _sums(grey: Sequence[int], width_px: int, width: int, height: int, step: int) -> list[int]:
    """The greys of each square of ``step`` by ``step`` pixels, added up."""
    if step == 1:
        return list(grey)
    sums = []
    for y in range(height):
        for x in range(width):
            first = y * step * width_px + x * step
            rows = range(first, first + step * width_px, width_px)
            sums.append(sum(sum(grey[i : i + step]) for i in rows))
    return sums


def _level_at(counts: Sequence[int], rank: float) -> int:
    """The grey level up to which so many pixels lie."""
    below = 0
    for level, count in enumerate(counts):
        below += count
        if below >= rank and count:
            return level
    return WHITE
