"""Before leaving: hazards that the next people must be told of, and lengths that could not be seen."""

from collections.abc import Sequence

from ..coding.continuous import continuous_items
from ..coding.visibility import SightFacts, visibility
from ..findings import Values
from ..grading.hazards import hazards
from ..records import ObservationRecord, RunFields
from .leave_item import LeaveTables, OpenItem, open_item


def sight_items(
    run_id: str, run: RunFields, observations: Sequence[ObservationRecord], end_counter_m: float | None,
    tables: LeaveTables,
) -> list[OpenItem]:  # fmt: skip
    """Return the hazards of a run, the gravest first, and each length of it that could not be seen.

    Parameters
    ----------
    run : mapping
        Its fields, with its end as ``ended_run``.
    end_counter_m : float or None
        Counter reading to which it was surveyed [m].
    tables : mapping
        ``visibility``: the whole table of that name; ``hazards``: the rows of that table.

    Returns
    -------
    list of dict
        Open items with their places [m, counter].

    Examples
    --------
    >>> sight_items("r", {}, [], None, {"visibility": {"view_lost_codes": [], "water_code": "BDD",
    ...     "deposit_code": "BBC", "node_codes": []}, "hazards": []})
    []
    """
    items = continuous_items(observations, end_counter_m)["items"]
    found: list[OpenItem] = []
    for one in hazards(observations, items, end_counter_m, tables["hazards"]):
        row = tables["hazards"][one["row"]]
        labels = {"label": row["label"], "caution": row["caution"]}
        code = "hazard" if one["sure"] else "hazard_possible"
        found.append(open_item(code, run_id, "observation", one["record_id"], None, labels))
    account = visibility(SightFacts(run, [], observations, items, end_counter_m, 1.0), tables["visibility"])
    for part in account["parts"]:
        if part["sight"] == "hidden":
            ends = {"from_m": part["from_counter_m"], "to_m": part["to_counter_m"]}
            what: tuple[str, str, str | None] = (
                "run",
                run_id,
                "end_counter_m",
            )  # where two ends of the run stand
            if part["record_ids"]:
                what = ("observation", part["record_ids"][0], None)
            found.append(open_item("not_seen", run_id, *what, ends))
    if not account["looked"] and account["total_m"] is not None and run.get("end_reason"):
        values: Values = {"total_m": account["total_m"], "code": ""}
        found.append(open_item("nothing_looked_at", run_id, "observation", None, None, values))
    return found
