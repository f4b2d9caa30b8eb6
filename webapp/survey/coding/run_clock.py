"""Clock positions within a run: which pipe the camera stands in, and which hours its height shifts."""

from collections.abc import Sequence

from ..numbers.checks import number_between
from ..records import StretchFields, StretchRecord
from .clock import true_position

OFF_AXIS = 0.02  # of the diameter; nearer the axis than that, no hour changes


def round_stretch_at(stretches: Sequence[StretchRecord], counter_m: float) -> StretchRecord | None:
    """Return the stretch at a counter reading, if it is a round pipe of known size.

    Parameters
    ----------
    counter_m : float
        Counter reading [m].

    Returns
    -------
    mapping or None
        The record, both its ends included [m]. None where no stretch with two ends lies, where one there is
        not round, has no size or a size said not to be known, and where two of different size [mm] meet.

    References
    ----------
    Own rule: better no stretch than the wrong one of two.

    Examples
    --------
    >>> fields = {"shape": "circular", "height_mm": 450, "from_counter_m": 0.0, "to_counter_m": 20.0}
    >>> round_stretch_at([{"id": "s", "fields": fields}], 7.5)["id"]
    's'
    """
    here = [one for one in stretches if _reaches(one["fields"], counter_m)]
    sizes = {one["fields"].get("height_mm") for one in here}
    if len(sizes) != 1 or not all(_round(one["fields"]) for one in here):
        return None
    return here[0]


def clock_suggestions(
    diameter_mm: float, camera_height_mm: float, hours: Sequence[int]
) -> list[dict[str, float]]:
    """Return the hours that are another hour on the wall than the camera shows.

    Parameters
    ----------
    diameter_mm : float
        Inside diameter of the pipe [mm].
    camera_height_mm : float
        Lens above the invert [mm]; taken to be on the upright through the axis.
    hours : sequence of int, 1 to 12
        Clock references as seen from the camera [h].

    Returns
    -------
    list of dict
        For each hour that changes: ``hour``, ``true_hours`` [h, 0 up to 12], ``nearest_hour`` (1 to 12) and
        ``wall_distance_m`` [m]; not rounded. Empty with the lens within 2 % of the diameter of the axis, and
        with a lens that is not within the pipe.

    Raises
    ------
    SurveyError
        ``size_out_of_range`` for the diameter; ``clock_out_of_range`` for an hour.

    Examples
    --------
    >>> clock_suggestions(300.0, 50.0, [2, 12])[0]["nearest_hour"]
    3
    """
    diameter = number_between(diameter_mm, 1.0, 100_000.0, "diameter_mm", "size_out_of_range")
    seen = [number_between(hour, 1, 12, "hours", "clock_out_of_range") for hour in hours]
    off_mm = abs(diameter / 2 - camera_height_mm)
    if not OFF_AXIS * diameter < off_mm < diameter / 2:
        return []
    found = []
    for hour in seen:
        place = true_position(diameter / 2000, camera_height_mm / 1000, 0.0, hour * 30.0)
        if place["nearest_hour"] != hour:
            named = ("true_hours", "nearest_hour", "wall_distance_m")
            found.append({"hour": hour, **{name: place[name] for name in named}})
    return found


def _reaches(fields: StretchFields, counter_m: float) -> bool:
    from_m, to_m = fields.get("from_counter_m"), fields.get("to_counter_m")
    return from_m is not None and to_m is not None and bool(from_m <= counter_m <= to_m)


def _round(fields: StretchFields) -> bool:
    known = fields.get("height_mm") is not None and fields.get("size_known") != "unknown"
    return known and fields.get("shape") == "circular"
