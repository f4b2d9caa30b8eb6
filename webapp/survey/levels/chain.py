"""The covariance of levels along a run whose units hang together through the course."""

import math
from dataclasses import dataclass


@dataclass(frozen=True)
class Chain:
    """What two levels have in common but the errors common to all; see ``chain_covariance``.

    Per unit: ``load_m``, the change of its rise with the course; ``log_keep``, logarithm of what the
    course keeps from the first unit to it; ``ahead_m``, the change of all later rises with the course
    there. Per station: the ``unit`` in which it lies, of that unit ``rest_m`` and ``rest_load_m`` beyond the
    station, and the covariances of the level with the unit's slope and with the course there [m].
    """

    load_m: list[float]
    log_keep: list[float]
    ahead_m: list[float]
    unit: list[int]
    rest_m: list[float]
    rest_load_m: list[float]
    with_slope_m: list[float]
    with_course_m: list[float]


def chain_covariance(chain: Chain, variance_m2: list[float], left: int, right: int) -> float:
    """Return the covariance of two levels, ``left`` not beyond ``right``.

    Parameters
    ----------
    variance_m2 : list of float
        Of the level of each station [m2].

    Returns
    -------
    float
        Covariance [m2]. O(1).

    References
    ----------
    What lies ahead hangs on what lies behind through the course alone (Markov): any text on state-space
    models.

    Examples
    --------
    >>> chain = Chain([0.0], [0.0], [0.0], [0, 0], [2.0, 0.0], [0.0, 0.0], [0.0, 0.02], [0.0, 0.0])
    >>> chain_covariance(chain, [0.0, 0.04], 0, 1)
    0.0
    """
    total = variance_m2[left]
    a, b = chain.unit[left], chain.unit[right]
    if a == b:
        return total + (chain.rest_m[left] - chain.rest_m[right]) * chain.with_slope_m[left]
    kept = math.exp(chain.log_keep[b] - chain.log_keep[a])
    further = chain.ahead_m[a] - kept * (chain.ahead_m[b] + chain.rest_load_m[right])
    return total + chain.rest_m[left] * chain.with_slope_m[left] + chain.with_course_m[left] * further
