"""Findings on a run: what is unlikely.  Kept, shown, printed; never refused.

The sentences stand in ``tables/findings.json`` and are filled by :func:`sentence`.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import cast

from ..coding.codes import check_observation
from ..coding.continuous import continuous_items
from ..coding.run_end import start_off_m
from ..errors import SurveyError
from ..findings import Finding, RecordFinding, Shown
from ..instruments.counter_resets import shown_m
from ..instruments.gradient import inclination_deg
from ..records import (
    LevelTieRecord,
    ObservationRecord,
    ReadingRecord,
    RemarkRecord,
    RunFields,
    StretchRecord,
)
from ..table_types.codes import ObservationCode
from ..table_types.site import FindingRow
from ..wording.messages import Words, choice, message, number_text
from ..wording.quantities import unit_text

Placed = LevelTieRecord | StretchRecord | RemarkRecord  # further records with a place on the run


@dataclass(frozen=True)
class FindingFacts:
    """What is looked through for what is unlikely: the records of a run, in the order of their making.

    ``cable_length_m`` [m]: cable on the drum, None where not known; ``limit_deg`` [deg]: largest inclination
    that the instrument reads, None where nobody has checked it: then none is held to be beyond it.
    """

    run: RunFields
    readings: Sequence[ReadingRecord]
    observations: Sequence[ObservationRecord]
    others: Sequence[Placed]
    cable_length_m: float | None
    limit_deg: float | None


def run_findings(facts: FindingFacts, code_rows: Sequence[ObservationCode]) -> list[RecordFinding]:
    """Return what is unlikely on one run.

    Returns
    -------
    list of dict
        ``code``, ``record_id``, ``field``, ``values`` for the sentence.

    Examples
    --------
    >>> reading = {"id": "r1", "fields": {"counter_m": 5}}
    >>> run_findings(FindingFacts({}, [reading], [], [], None, 10.0), [])[0]["code"]
    'reading_incomplete'
    """
    found = _order_findings(facts.readings)
    for reading in facts.readings:
        found += _reading_findings(reading, facts.limit_deg)
    for record in (*facts.readings, *facts.observations, *facts.others):
        found += _place_findings(facts.run, record, facts.cable_length_m)
    for observation in facts.observations:
        found += _start_findings(facts.run, observation)
        for one in check_observation(code_rows, observation["fields"]):
            found.append({"record_id": observation["id"], **one})
    # What lies beyond the end is told of each record already.
    found += [{**one} for one in continuous_items(facts.observations, None)["faults"]]
    return found


def sentence(words: Words, table: Sequence[FindingRow], finding: Finding) -> str:
    """Return the sentence of a finding.

    Parameters
    ----------
    words : mapping
        The catalogue.
    table : sequence of mapping
        The rows of ``findings.json``.
    finding : mapping
        ``code`` and ``values``.

    Raises
    ------
    SurveyError
        ``finding_unknown`` if the table lacks the code.

    Examples
    --------
    >>> rows = [{"code": "a", "sentence": "At {at_m} m."}]
    >>> sentence({"_language": "de"}, rows, {"code": "a", "values": {"at_m": 2.5}})
    'At 2,5 m.'
    """
    for row in table:
        if row["code"] == finding["code"]:
            text: str = row["sentence"]
            for name, value in finding["values"].items():
                text = text.replace("{" + name + "}", _shown(words, name, value))
            return text
    raise SurveyError("finding_unknown", "finding")


def _shown(words: Words, name: str, value: Shown) -> str:
    if name == "label":
        return message(words, f"survey.finding.{value}", {})
    if isinstance(value, list | tuple):
        return choice(words, [unit_text(words, one) for one in value]) or message(
            words, "survey.unit.none", {}
        )
    if isinstance(value, int) and not isinstance(value, bool):
        return number_text(words, str(value))
    if isinstance(value, float):
        return number_text(words, str(int(value) if value.is_integer() else value))
    return unit_text(words, value) if name == "unit" and isinstance(value, str) else str(value)


def _finding(name: str, record_id: str, where: str, /, **values: Shown) -> RecordFinding:
    return {"record_id": record_id, "code": name, "field": where, "values": values}


def _order_findings(readings: Sequence[ReadingRecord]) -> list[RecordFinding]:
    found: list[RecordFinding] = []
    before: float | None = None
    before_shown: float | None = None
    earlier: set[int] = set()
    for reading in readings:
        counter_m = reading["fields"].get("counter_m")
        if counter_m is None:
            continue
        showed_m = shown_m(reading["fields"], "counter_m")
        place = math.floor(counter_m * 100 + 0.5)  # to the centimetre
        if place in earlier:
            found.append(_finding("reading_duplicate", reading["id"], "counter_m", counter_m=showed_m))
        elif before is not None and counter_m < before:
            values = {"counter_m": showed_m, "before_m": before_shown}
            found.append(_finding("reading_out_of_order", reading["id"], "counter_m", **values))
        earlier.add(place)
        before, before_shown = counter_m, showed_m
    return found


def _reading_findings(reading: ReadingRecord, limit_deg: float | None) -> list[RecordFinding]:
    fields = reading["fields"]
    inclination = fields.get("inclination")
    if fields.get("counter_m") is None or inclination is None:
        return [_finding("reading_incomplete", reading["id"], "inclination")]
    deg = inclination_deg(inclination)
    if deg is not None and limit_deg is not None and abs(deg) > limit_deg:
        values = {"deg": math.floor(abs(deg) * 10 + 0.5) / 10, "limit_deg": limit_deg}
        return [_finding("inclination_beyond_limit", reading["id"], "inclination", **values)]
    return []


def _place_findings(
    run: RunFields, record: ReadingRecord | ObservationRecord | Placed, cable_length_m: float | None
) -> list[RecordFinding]:
    places = cast(Mapping[str, float | None], record["fields"])  # of each kind its own, one of these at least
    name = "counter_m" if places.get("counter_m") is not None else "from_counter_m"
    counter_m = places.get(name)
    if counter_m is None:
        return []
    zero_m, end_m = run.get("counter_zero_m"), run.get("end_counter_m")
    found: list[RecordFinding] = []
    if cable_length_m is not None and counter_m > cable_length_m:
        values = {"counter_m": _come_to(counter_m), "cable_length_m": cable_length_m}
        found.append(_finding("beyond_cable", record["id"], name, **values))
    if zero_m is not None and counter_m < zero_m:
        values = {"counter_m": _come_to(counter_m), "counter_zero_m": zero_m}
        found.append(_finding("before_zero", record["id"], name, **values))
    if end_m is not None and counter_m > end_m:
        values = {"counter_m": _come_to(counter_m), "end_counter_m": _come_to(end_m)}
        found.append(_finding("beyond_end", record["id"], name, **values))
    return found


def _start_findings(run: RunFields, observation: ObservationRecord) -> list[RecordFinding]:
    fields = observation["fields"]
    if start_off_m(run, fields) is None:
        return []
    zero_m = run.get("counter_zero_m")
    values = {"counter_m": shown_m(fields, "counter_m"), "counter_zero_m": 0 if zero_m is None else zero_m}
    return [_finding("start_off_zero", observation["id"], "counter_m", **values)]


def _come_to(counter_m: float) -> float:
    """A counter that ran on through a reset, without the noise of the sum."""
    return math.floor(counter_m * 1000 + 0.5) / 1000
