"""Rules that are looked up, not computed: least gradients of drains."""

from collections.abc import Sequence
from typing import TypedDict

from ..numbers.checks import number_between
from ..table_types.pipe import FoulDrain


class LeastGradient(TypedDict):
    """The flattest gradient that a rule allows, as 1 in N, and the rule's row."""

    one_in: float | None
    row: int | None
    findings: list[str]


def least_gradient(
    rows: Sequence[FoulDrain], diameter_m: float, peak_flow_m3_s: float, wcs_connected: int
) -> LeastGradient:
    """Return the least gradient that a table of rules asks of a foul drain.

    Parameters
    ----------
    rows : sequence of dict
        ``foul_drains`` of the table minimum_gradients.
    diameter_m : float
        Nominal inside or listed outside diameter [m].
    peak_flow_m3_s : float
        Peak flow [m3/s], 0 up to 100,000.

    Returns
    -------
    dict
        ``one_in`` (N of 1 in N, or None when the table has no rule for the case), ``row`` (index, or
        None) and ``findings``: ``diameter_not_in_table``, ``too_few_wcs``.

    Raises
    ------
    SurveyError
        ``size_out_of_range``, ``flow_out_of_range``, ``count_out_of_range``.

    References
    ----------
    Approved Document H (England), Table 6: each row states its source and how sure it is.

    Examples
    --------
    >>> rows = [{"diameters_mm": [100, 110], "flow_below_m3_s": 0.001, "wcs_at_least": 0, "one_in": 40}]
    >>> least_gradient(rows, 0.1, 0.0008, 1)["one_in"]
    40
    """
    size_mm = 1000 * number_between(diameter_m, 0.001, 100.0, "diameter_m", "size_out_of_range")
    flow = number_between(peak_flow_m3_s, 0.0, 1e5, "peak_flow_m3_s", "flow_out_of_range")
    wcs = number_between(wcs_connected, 0, 100_000, "wcs_connected", "count_out_of_range")
    findings = ["diameter_not_in_table"]
    for index, row in enumerate(rows):
        if not any(abs(size_mm - listed) < 0.5 for listed in row["diameters_mm"]):
            continue
        limit = row["flow_below_m3_s"]
        if (limit is not None and flow >= limit) or (limit is None and flow < row["flow_from_m3_s"]):
            continue
        if wcs < row["wcs_at_least"]:
            findings = ["too_few_wcs"]
            continue
        return {"one_in": row["one_in"], "row": index, "findings": []}
    return {"one_in": None, "row": None, "findings": findings}


class OneInDiameter(TypedDict):
    """The gradient by the rule of thumb, as 1 in N."""

    one_in: float
    findings: list[str]


def one_in_diameter(nominal_diameter_m: float) -> OneInDiameter:
    """Return the gradient of 1 in the nominal diameter in millimetres.

    Parameters
    ----------
    nominal_diameter_m : float
        Nominal diameter [m].

    Returns
    -------
    dict
        ``one_in`` (N of 1 in N) and ``findings``: ``rule_is_for_below_dn_300`` from 300 mm on.

    Raises
    ------
    SurveyError
        ``size_out_of_range``.

    References
    ----------
    Below DN 300, self-cleansing by a gradient of at least 1 in DN: EN 16933-2:2017 as restated by a
    third-party page.

    Examples
    --------
    >>> one_in_diameter(0.15)["one_in"]
    150.0
    """
    size = number_between(nominal_diameter_m, 0.001, 100.0, "nominal_diameter_m", "size_out_of_range")
    findings = ["rule_is_for_below_dn_300"] if size >= 0.3 else []
    return {"one_in": 1000 * size, "findings": findings}
