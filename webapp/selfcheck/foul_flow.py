"""The peak foul flow of a number of dwellings, from a table."""

from collections.abc import Sequence

from ..survey.errors import SurveyError
from ..survey.numbers.checks import number_between
from ..survey.table_types.pipe import FoulFlow


def foul_flow(rows: Sequence[FoulFlow], dwellings: float) -> dict[str, object]:
    """Return the peak foul flow of a number of dwellings.

    Parameters
    ----------
    rows : sequence of dict
        ``foul_flows`` of the table minimum_gradients: ``dwellings`` ascending and ``flow_m3_s`` [m3/s].
    dwellings : float
        Dwellings connected, from the first to the last row of the table.

    Returns
    -------
    dict
        ``peak_flow_m3_s`` [m3/s] and ``known``: ``quoted`` for a row of the table, ``computed`` between
        two rows (straight line).

    Raises
    ------
    SurveyError
        ``dwellings_beyond_table``; ``table_empty``.

    References
    ----------
    Approved Document H (England), Table 5; the straight line between rows is ours.

    Examples
    --------
    >>> foul_flow([{"dwellings": 1, "flow_m3_s": 0.0025}, {"dwellings": 5, "flow_m3_s": 0.0035}], 3)
    {'peak_flow_m3_s': 0.003, 'known': 'computed'}
    """
    if not rows:
        raise SurveyError("table_empty", "rows")
    first, last = rows[0]["dwellings"], rows[-1]["dwellings"]
    count = number_between(dwellings, first, last, "dwellings", "dwellings_beyond_table")
    before = rows[0]
    for row in rows:
        if row["dwellings"] == count:
            return {"peak_flow_m3_s": row["flow_m3_s"], "known": "quoted"}
        if row["dwellings"] > count:
            break
        before = row
    share = (count - before["dwellings"]) / (row["dwellings"] - before["dwellings"])
    flow = before["flow_m3_s"] + share * (row["flow_m3_s"] - before["flow_m3_s"])
    return {"peak_flow_m3_s": flow, "known": "computed"}
