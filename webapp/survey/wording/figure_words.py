"""The figures of a run in sentences, the same to the letter on server and phone."""

from ..numbers.decimals import decimal_text
from .wording import degrees_text, metres

MANY = 999
REASONS = {
    "deposit": "Without its deposit it would carry",
    "deformation": "In its original shape it would carry",
    "narrowing": "Without what narrows it most it would carry",
    "even_fall": "With its fall evened out it would carry",
    "fall": "With the best fall of the run it would carry",
    "bore": "With the largest bore of the run it would carry",
    "roughness": "With the smoothest wall of the run it would carry",
}


def place_text(chainage_m: float) -> str:
    """Return a place along the pipe, to the centimetre, its unit left to the caller.

    Parameters
    ----------
    chainage_m : float
        Chainage [m].

    Examples
    --------
    >>> place_text(12.345)
    '12.35'
    """
    return decimal_text(chainage_m, 2)


def spread_text(sd_m: float | None) -> str:
    """Return a standard deviation alone, rounded as beside its value.

    Parameters
    ----------
    sd_m : float or None
        Standard deviation [m]; None if not known.

    Examples
    --------
    >>> spread_text(0.0123), spread_text(None)
    ('0.012 m', '')
    """
    return "" if sd_m is None else metres(sd_m, sd_m).split(", sd ")[1]


def change_text(rise_m: float, sd_m: float | None) -> str:
    """Return a change of level in words.

    Parameters
    ----------
    rise_m : float
        Rise ahead [m]; a fall is negative.
    sd_m : float or None
        Its standard deviation [m]; None if not known.

    Returns
    -------
    str
        ``rises`` or ``falls``, then the size as ``metres`` says it.

    Examples
    --------
    >>> change_text(-0.4407, 0.0152)
    'falls 0.441 m, sd 0.015 m'
    """
    return f"{'rises' if rise_m > 0 else 'falls'} {metres(abs(rise_m), sd_m)}"


def litres_text(flow_m3_s: float) -> str:
    """Return a flow in litres a second, to about three figures, its unit left to the caller.

    Parameters
    ----------
    flow_m3_s : float
        Flow [m3/s].

    Examples
    --------
    >>> litres_text(0.7724), litres_text(0.0219), litres_text(0.00512)
    ('772', '21.9', '5.12')
    """
    litres = 1000 * flow_m3_s
    return decimal_text(litres, 0 if litres >= 99.95 else 1 if litres >= 9.995 else 2)


def reason_text(code: str, flow_m3_s: float) -> str:
    """Return why a stretch is the bottleneck of its run.

    Parameters
    ----------
    code : str
        ``deposit``, ``deformation``, ``even_fall``, ``fall``, ``bore`` or ``roughness``.
    flow_m3_s : float
        What the stretch would carry without it [m3/s].

    Examples
    --------
    >>> reason_text("deposit", 0.0219)
    'Without its deposit it would carry 21.9 l/s.'
    """
    return f"{REASONS.get(code, 'Without that it would carry')} {litres_text(flow_m3_s)} l/s."


def crown_text(chainage_m: float) -> str:
    """Return where the water reaches the crown first when the flow grows.

    Parameters
    ----------
    chainage_m : float
        Where [m].

    Examples
    --------
    >>> crown_text(21.4)
    'The water reaches the crown first at 21.40 m.'
    """
    return f"The water reaches the crown first at {place_text(chainage_m)} m."


def surcharge_text(flow_m3_s: float, low_m3_s: float, high_m3_s: float, node: str, level_m: float) -> str:
    """Return at which flow the water at the upper end stands at its cover.

    Parameters
    ----------
    flow_m3_s, low_m3_s, high_m3_s : float
        Flow and the ends of its 95 % band [m3/s].
    level_m : float
        Level of its cover [m above datum].

    Examples
    --------
    >>> surcharge_text(0.061, 0.05, 0.08, "MH1", 12.34)[:57]
    'Above 61.0 l/s, 95 % band 50.0 to 80.0 l/s, the pipe unde'
    """
    flow, low, high = litres_text(flow_m3_s), litres_text(low_m3_s), litres_text(high_m3_s)
    above = f"Above {flow} l/s, 95 % band {low} to {high} l/s, the pipe under pressure"
    return f"{above}, the water would stand over the cover of {node} ({decimal_text(level_m, 3)} m)."


def times_text(standardised: float) -> str:
    """Return how many standard deviations something is out.

    >>> times_text(-4.25), times_text(12345.0)
    ('4.3', 'more than 999')
    """
    size = abs(standardised)
    return f"more than {MANY}" if size > MANY else decimal_text(size, 1)


def suspect_text(kind: str, from_m: float, to_m: float, size_m: float, standardised: float) -> str:
    """Return what most looks like a slip.

    Parameters
    ----------
    kind : str
        ``tie``, ``start``, else a reading.
    from_m, to_m : float
        Where the tie lies, or between which chainages the reading does [m].
    size_m : float
        How far it is out if it alone is [m].

    Examples
    --------
    >>> suspect_text("tie", 15.0, 15.0, 1.002, 57.81)[:59]
    'Most suspicious: the level tie at 15.00 m. It is 1.00 m out'
    """
    size, times = metres(abs(size_m), None), times_text(standardised)
    off = f"{size} out if it alone is, {times} times its standard deviation."
    if kind == "tie":
        return f"Most suspicious: the level tie at {place_text(from_m)} m. It is {off}"
    if kind == "start":
        return f"Most suspicious: the level at the start. It is {off}"
    return f"Most suspicious: a reading between {place_text(from_m)} and {place_text(to_m)} m. It is {off}"


def gap_text(chainage_m: float, deg: float | None) -> str:
    """Return that the ties do not fit a reading beyond the range.

    Parameters
    ----------
    chainage_m : float
        Where the reading lies [m].
    deg : float or None
        The inclination that the ties would need [deg].

    Examples
    --------
    >>> gap_text(20.0, -4.0)
    'The ties do not fit the length beyond the range at 20.00 m: it would need −4.00°.'
    """
    where = place_text(chainage_m)
    return f"The ties do not fit the length beyond the range at {where} m: it would need {degrees_text(deg)}."


def settle_text(tie_sd_m: float, now_sd_m: float | None, then_sd_m: float, both_ends: bool) -> str:
    """Return what a level at the far end would settle.

    Parameters
    ----------
    tie_sd_m : float
        Assumed standard deviation of that level [m].
    now_sd_m : float or None
        Standard deviation without it [m]; None where there are bounds only.
    then_sd_m : float
        Standard deviation with it [m].

    Examples
    --------
    >>> settle_text(0.01, None, 0.0123, False)
    'A level at the far end, taken to 0.010 m (assumed), would settle it: from bounds only to sd 0.012 m'
    """
    end, what = ("each end", "the fall") if both_ends else ("the far end", "it")
    now = "from bounds only" if now_sd_m is None else f"sd {spread_text(now_sd_m)}"
    return (
        f"A level at {end}, taken to {spread_text(tie_sd_m)} (assumed), would settle {what}: "
        f"{now} to sd {spread_text(then_sd_m)}"
    )
