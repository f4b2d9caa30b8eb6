"""The covariance of the levels of two stations of a profile."""

from ..survey.errors import SurveyError
from ..survey.levels.solution import LevelSolution, prior_covariance, tie_row
from ..survey.levels.values import level_value, posterior_covariance
from ..survey.numbers.linear_algebra import solve_lower


def level_covariance(solution: LevelSolution, left: int, right: int) -> float | None:
    """Return the covariance of the levels of two stations.

    Parameters
    ----------
    solution : LevelSolution
        ``solution`` of a ``LevelProfile``.
    left, right : int
        Two stations.

    Returns
    -------
    float or None
        Covariance [m2]; None if either level is bounded only. O(m2).

    Raises
    ------
    SurveyError
        ``station_unknown`` if there is no such station.

    References
    ----------
    As ``level_profile``.

    Examples
    --------
    >>> from webapp.survey.levels.input import LevelReading, LevelSetup
    >>> from webapp.survey.levels.levels import level_profile
    >>> setup = LevelSetup("span", 0.0, 5.0, 0.003, 0.1, 0.0, 0.0, 0.0, 10.0, 9.0)
    >>> profile = level_profile([LevelReading(0.0, 0.0)], [], setup)
    >>> round(level_covariance(profile.solution, 0, 1), 9)
    9e-06
    """
    for station in (left, right):
        if not 0 <= station < len(solution.walk.chainage_m):
            raise SurveyError("station_unknown", "station")
    ours, theirs = level_value(solution, left), level_value(solution, right)
    if not ours.settled or not theirs.settled:
        return None
    white = [solve_lower(solution.lower, tie_row(solution, k)) for k in (left, right)]
    unknown = [[1.0] * solution.shifts + value.low_slopes for value in (ours, theirs)]
    prior = prior_covariance(solution.walk, solution.setup, left, right)
    return posterior_covariance(solution, prior, white[0], white[1], unknown[0], unknown[1])
