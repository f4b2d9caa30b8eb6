"""Backfalls, sags and water in sentences, the same to the letter on server and phone."""

from ..numbers.decimals import decimal_text
from .figure_words import place_text
from .wording import metres

UNSURE = "less than twice its standard deviation."
VERDICTS = {
    "agrees": "They agree.",
    "deeper": "More than the levels explain: something holds it back, or the levels are out.",
    "shallower": "Less than the levels explain: the levels may be out.",
}


def backfall_text(
    from_m: float, to_m: float, rise_m: float, sd_m: float | None, sure: bool, at_least: bool
) -> str:
    """Return a backfall as a sentence.

    Parameters
    ----------
    from_m, to_m : float
        Where it begins and ends [m].
    rise_m : float
        Rise with the flow [m].
    sd_m : float or None
        Its standard deviation [m].

    Examples
    --------
    >>> backfall_text(3.0, 6.0, 0.05, 0.01, True, False)
    'Backfall from 3.00 to 6.00 m: rises 0.050 m, sd 0.010 m with the flow (computed).'
    """
    where, size = f"from {place_text(from_m)} to {place_text(to_m)} m", metres(rise_m, sd_m)
    if at_least:
        return f"Backfall {where}: rises at least {size} with the flow (bounded)."
    if sure:
        return f"Backfall {where}: rises {size} with the flow (computed)."
    return f"Possible backfall {where}: rises {size} with the flow (computed); {UNSURE}"


def sag_text(
    from_m: float, to_m: float, depth_m: float, sd_m: float | None, low_m: float, sure: bool, at_least: bool
) -> str:
    """Return a sag as a sentence.

    Parameters
    ----------
    from_m, to_m : float
        Where the water would begin and end [m].
    depth_m : float
        Greatest depth of the water [m].
    sd_m : float or None
        Its standard deviation [m].
    low_m : float
        Where it would be deepest [m].

    Examples
    --------
    >>> sag_text(3.0, 6.0, 0.05, 0.01, 4.0, True, False)
    'Sag from 3.00 to 6.00 m: water would stand 0.050 m, sd 0.010 m deep at 4.00 m (computed).'
    """
    where, size = f"from {place_text(from_m)} to {place_text(to_m)} m", metres(depth_m, sd_m)
    low = f"deep at {place_text(low_m)} m"
    if at_least:
        return f"Sag {where}: water would stand at least {size} {low} (bounded)."
    if sure:
        return f"Sag {where}: water would stand {size} {low} (computed)."
    return f"Possible sag {where}: {size} {low} (computed); {UNSURE}"


def seen_text(chainage_m: float, observed_m: float, sd_m: float | None, computed_m: float) -> str:
    """Return a comparison of the water seen with the levels.

    Parameters
    ----------
    chainage_m : float
        Where it was seen [m].
    observed_m, sd_m : float
        How deep above the running water, and its standard deviation [m].
    computed_m : float
        What the levels explain [m].

    Returns
    -------
    str
        A sentence; ``verdict_text`` follows.

    Examples
    --------
    >>> seen_text(9.0, 0.04, 0.01, 0.035)
    'Water seen at 9.00 m: 0.040 m, sd 0.010 m above the running water; the levels explain 0.035 m.'
    """
    seen = metres(observed_m, sd_m)
    return (
        f"Water seen at {place_text(chainage_m)} m: {seen} above the running water; the levels explain "
        f"{decimal_text(computed_m, 3)} m."
    )


def verdict_text(verdict: str) -> str:
    """Return what a comparison of the water seen with the levels comes to.

    Parameters
    ----------
    verdict : str
        ``agrees``, ``deeper`` or ``shallower``.

    Examples
    --------
    >>> verdict_text("agrees")
    'They agree.'
    """
    return VERDICTS.get(verdict, "")


def volume_text(volume_m3: float | None) -> str:
    """Return a volume in litres, from a cubic metre up in cubic metres.

    Parameters
    ----------
    volume_m3 : float or None
        Volume [m3]; None where the bore is not known.

    Examples
    --------
    >>> volume_text(0.0214), volume_text(1.25), volume_text(None)
    ('21 litres', '1.3 m³', 'not known: size not recorded')
    """
    if volume_m3 is None:
        return "not known: size not recorded"
    if volume_m3 < 1:
        return f"{decimal_text(1000 * volume_m3, 0)} litres"
    return f"{decimal_text(volume_m3, 1)} m³"
