"""What the level ties say of the inclination at readings beyond the instrument's range."""

from collections.abc import Mapping, Sequence

from .levels import SolvedGap

SPREADS = 2.0  # that many standard deviations to either side


def settled_inclinations(
    reading_ids: Sequence[str], gaps: Sequence[SolvedGap]
) -> dict[str, tuple[float, float, bool]]:
    """Return how steep the pipe is at readings beyond the range, as far as the ties tell.

    Parameters
    ----------
    reading_ids : sequence of str, length n
        Ids of the readings of the profile, as in ``RunModel``.

    Returns
    -------
    dict
        By id of the reading: least and greatest inclination [deg], 0 to 90, without a sign, and whether
        the ties give one value; then the two lie two standard deviations to either side. Gaps that
        the ties do not fit, or do not touch, are left out.

    References
    ----------
    Decision D5; two standard deviations hold the value about 95 times in 100.

    Examples
    --------
    >>> settled_inclinations([], [])
    {}
    """
    found: dict[str, tuple[float, float, bool]] = {}
    for gap in gaps:
        if not gap.consistent or gap.own_m <= 0:
            continue
        if gap.deg is not None:
            size, spread = abs(gap.deg), SPREADS * (gap.sd_deg or 0.0)
            found[reading_ids[gap.reading]] = (max(0.0, size - spread), min(90.0, size + spread), True)
        elif gap.low_deg is not None and gap.high_deg is not None:
            ends = (abs(gap.low_deg), abs(gap.high_deg))
            least = 0.0 if gap.low_deg < 0 < gap.high_deg else min(ends)
            found[reading_ids[gap.reading]] = (least, max(ends), False)
    return found


def settled_at(
    reading_ids: Sequence[str], settled: Mapping[str, tuple[float, float, bool]]
) -> dict[int, tuple[float, float, bool]]:
    """Return the same by place in a list of readings.

    Parameters
    ----------
    reading_ids : sequence of str, length n
        Ids of the readings in their order.
    settled : mapping
        From ``settled_inclinations`` [deg].

    Examples
    --------
    >>> settled_at(["a", "b"], {"b": (20.0, 22.0, True)})
    {1: (20.0, 22.0, True)}
    """
    return {k: settled[identity] for k, identity in enumerate(reading_ids) if identity in settled}
