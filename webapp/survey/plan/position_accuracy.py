"""The radius that holds a position 95 times in 100, from the radius that its source states.

Android's ``Location.getAccuracy`` is the radius at the 68th percentile (Android developers' reference), and
Chromium hands it on to a page as it is (its class LocationProviderAdapter). Apple documents no share for
``CLLocation.horizontalAccuracy``; an engineer of theirs calls it the root of the sum of both variances,
which holds a round error 63.2 times in 100 (developer forum, thread 699996). The Geolocation recommendation
of 2013 said that it "should correspond to a 95% confidence level", and MDN still does; its text now says
"the position accuracy radius in meters" and no share (w3c/geolocation, pull request 162; issue 206 asks for
one). All read in 2026-11. So nothing that a phone states is read as 95 in 100, and of an unknown phone the
least is taken.
"""

import math

from ..numbers.checks import number_between
from ..numbers.finite import spread
from ..records import Position

PHONE_PCT = 63.0  # of a phone whose make was not recorded: the least that a platform states
OTHER_PCT = 95.0  # a receiver, a map, a typed radius: the form asks for 95


def stated_pct(position: Position) -> float:
    """Return how many times in 100 the stated radius of a position holds the true place.

    Parameters
    ----------
    position : mapping
        ``source`` and, where recorded, ``accuracy_pct`` [%].

    Returns
    -------
    float
        ``accuracy_pct`` [%]; without it 63 for a phone and 95 for every other source.

    Raises
    ------
    SurveyError
        ``share_out_of_range`` unless it lies between 1 and 99.9; ``number_not_finite``.

    References
    ----------
    Android's reference, 68 %; Apple's developer forum, 63.2 to 68.3 %: see the head of this module.

    Examples
    --------
    >>> stated_pct({"source": "phone"}), stated_pct({"source": "phone", "accuracy_pct": 68})
    (63.0, 68.0)
    """
    stated = position.get("accuracy_pct")
    if stated is not None:
        return float(number_between(stated, 1.0, 99.9, "accuracy_pct", "share_out_of_range"))
    return PHONE_PCT if position.get("source") == "phone" else OTHER_PCT


def radius_95_m(position: Position) -> float | None:
    """Return the radius that holds a position 95 times in 100.

    Parameters
    ----------
    position : mapping
        ``accuracy_m`` [m], ``source``, ``accuracy_pct`` [%]; each may be absent.

    Returns
    -------
    float or None
        Radius [m]; None where none is stated.

    Raises
    ------
    SurveyError
        ``share_out_of_range``; ``sd_negative``, ``number_not_finite``, ``number_out_of_range``.

    Notes
    -----
    Real errors of phones beside walls and under trees are larger than stated and no such distribution.

    References
    ----------
    An error alike in east and north and normal has a Rayleigh distributed length: a radius holds 1 -
    exp(-r2 / (2 sd2)): any text on probability. Its factor for the root mean square, 1.7308, and for the
    standard deviation of an axis, 2.4477, stand in FGDC-STD-007.3-1998 (NSSDA), appendix 3-A.

    Examples
    --------
    >>> round(radius_95_m({"accuracy_m": 10.0, "accuracy_pct": 68}), 3)
    16.215
    >>> radius_95_m({"accuracy_m": 4.0, "source": "receiver"})
    4.0
    """
    stated = position.get("accuracy_m")
    if stated is None:
        return None
    radius, pct = spread(stated, "accuracy_m"), stated_pct(position)
    if pct == OTHER_PCT:
        return radius
    return radius * math.sqrt(math.log(1 - OTHER_PCT / 100) / math.log(1 - pct / 100))
