"""A sound job as plain records, and one planted fault of each kind."""

import copy

from webapp import tables

TABLES = {
    "leave_site": tables.load("leave_site"),
    "codes": tables.load("observation_codes")["rows"],
    "safety": tables.load("safety_sheet")["rows"],
    "visibility": tables.load("visibility"),
    "hazards": tables.load("hazards")["rows"],
}
JOB, RUN, A, B = (f"01a138f8-6b99-7e8c-b33b-0dbba815{n:04d}" for n in range(4))
SHARP = {"focus_pct": 40.0, "brightness_pct": 35.0, "contrast_pct": 45.0}


def shown(size, sense="falling"):
    return {"size": size, "unit": "one_in", "sense": sense}


def item(records, kind, name):
    """Return the fields of one record of a job."""
    return next(one["fields"] for one in records[kind] if one["id"] == name)


def sound():
    """One run of 20 m between two chambers, with a length beyond the range that two ties settle."""
    readings = {f"r{k}": {"counter_m": 0.5 + 2.0 * k, "inclination": shown(80)} for k in range(10)}
    readings["r4"] = {"counter_m": 8.5, "inclination": {"over_range": True, "sense": "falling"}}
    seen = {
        "start": {"code": "BCD", "counter_m": 0.5, "characterisation_1": "A"},
        "break": {"code": "BAC", "counter_m": 6.0, "characterisation_1": "B", "clock": {"hour_from": 3}},
        "from": {"code": "BBC", "counter_m": 9.0, "continuous": {"role": "start", "number": 1}},
        "more": {"code": "BBC", "counter_m": 10.0, "continuous": {"role": "change", "number": 1}},
        "to": {"code": "BBC", "counter_m": 12.0, "continuous": {"role": "finish", "number": 1}},
        "finish": {"code": "BCE", "counter_m": 20.0, "characterisation_1": "A"},
    }
    for name in ("from", "more", "to"):
        seen[name] |= {"characterisation_1": "B", "clock": {"hour_from": 5, "hour_to": 7}}
    checks = {
        "tape": {"check_type": "counter_tape", "counter_from_m": 0.0, "counter_to_m": 20.0,
                 "taped_length_m": 20.0},
        "zero": {"check_type": "inclinometer_reversed", "reading_forward": shown(100),
                 "reading_reversed": shown(100, "rising")},
    }  # fmt: skip
    for row in TABLES["safety"]:
        checks[row["id"]] = {"check_type": "safety_sheet", "question_id": row["id"], "answer": "yes"}
    place = {"lat_deg": 50.0, "lon_deg": -30.0, "accuracy_m": 4, "source": "phone"}
    fields = {
        "job": {JOB: {"title": "A drain"}},
        "node": {A: {"node_ref": "A", "node_type": "manhole", "position": place},
                 B: {"node_ref": "B", "node_type": "manhole"}},
        "run": {RUN: {"run_ref": "R1", "start_node_id": A, "finish_node_id": B, "direction": "with_flow",
                      "counter_zero_m": 0.5, "end_reason": "node_reached", "end_counter_m": 20.0,
                      "expected_length_m": 19.5}},
        "stretch": {"s": {"from_counter_m": 0.5, "to_counter_m": 20.0, "shape": "circular",
                          "height_mm": 300}},
        "reading": readings,
        "observation": seen,
        "level_tie": {"near": {"counter_m": 0.5, "invert_level_m": 10.0, "sd_m": 0.01},
                      "far": {"counter_m": 20.0, "invert_level_m": 9.0, "sd_m": 0.01}},
        "check": checks,
        "photo": {"p": {"belongs_to": "break", **SHARP}},
    }  # fmt: skip
    for kind in ("stretch", "reading", "observation", "level_tie", "photo"):
        for one in fields[kind].values():
            one["run_id"] = RUN
    return {kind: [{"id": i, "fields": f} for i, f in some.items()] for kind, some in fields.items()}


def without(kind, name):
    def plant(records, outside):
        records[kind] = [one for one in records[kind] if one["id"] != name]

    return plant


def changed(kind, name, **fields):
    def plant(records, outside):
        item(records, kind, name).update(fields)

    return plant


def known(**facts):
    def plant(records, outside):
        outside.update(facts)

    return plant


def several(*plants):
    def plant(records, outside):
        for one in plants:
            one(records, outside)

    return plant


def stays(answer):
    """The run ended short; what that asks for besides is there."""
    return several(
        changed("run", RUN, end_reason=answer, start_bearing={"bearing_deg": 20, "north": "magnetic"}),
        changed("observation", "finish", code="BDC"),
    )


def pieces(expected_length_m=39.0):
    """The run ended short after 19.5 m, and one like it came from the other end."""

    def plant(records, outside):
        stays("obstruction")(records, outside)
        item(records, "run", RUN)["expected_length_m"] = expected_length_m
        for kind in ("run", "stretch", "reading", "observation", "level_tie", "photo"):
            for one in copy.deepcopy(records[kind]):
                fields, one["id"] = one["fields"], f"{one['id']} from B"
                if kind == "run":
                    fields |= {"start_node_id": B, "finish_node_id": A, "continues_run_id": RUN}
                    fields |= {"direction": "against_flow", "expected_length_m": None}
                else:
                    fields["run_id"] = f"{RUN} from B"
                if kind == "photo":
                    fields["belongs_to"] += " from B"
                records[kind].append(one)

    return plant


def hidden(*plants):
    """The far end is a buried chamber; where it lies is not known."""
    bearing = {"bearing_deg": 20, "north": "magnetic"}
    return several(
        changed("node", B, node_type="buried"), changed("run", RUN, start_bearing=bearing), *plants
    )


# code of the one item named -> the fault that is planted, and the record that is named
FAULTS = {
    "hazard": (changed("observation", "break", code="BAP", characterisation_1=None), "break"),
    "hazard_possible": (changed("observation", "break", characterisation_1=None), "break"),
    "not_seen": (several(*(changed("observation", n, code="BDG") for n in ("from", "more", "to"))), "from"),
    "nothing_looked_at": (
        several(*(without("observation", n) for n in ("break", "from", "more", "to")), without("photo", "p")),
        None,
    ),
    "safety_unanswered": (without("check", TABLES["safety"][0]["id"]), None),
    "tape_check_missing": (without("check", "tape"), None),
    "zero_check_missing": (changed("check", "zero", reading_reversed=None), None),
    "start_missing": (without("observation", "start"), None),
    "start_misplaced": (changed("observation", "start", counter_m=16.5), "start"),
    "end_missing": (
        several(without("observation", "finish"), changed("run", RUN, end_reason=None, end_counter_m=None),
                changed("reading", "r9", counter_m=20.0)),
        RUN,
    ),
    "end_reason_missing": (several(stays("other"), changed("run", RUN, remark=None)), RUN),
    "end_place_missing": (
        several(stays("obstruction"), without("observation", "finish"),
                changed("run", RUN, end_counter_m=None), changed("reading", "r9", counter_m=20.0)),
        RUN,
    ),
    "end_reason_differs": (changed("observation", "finish", code="BDC"), RUN),
    "end_place_differs": (changed("observation", "finish", counter_m=18.0), RUN),
    "continuous_open": (without("observation", "to"), "from"),
    "join_unknown": (pieces(expected_length_m=None), RUN),
    "not_surveyed": (pieces(expected_length_m=39.5), RUN),
    "perhaps_same": (several(changed("observation", "break", counter_m=19.8), pieces()), RUN),
    "other_end": (stays("obstruction"), RUN),
    "reading_gap": (several(without("reading", "r6"), without("reading", "r7")), None),
    "rise_needs_far_level": (without("level_tie", "far"), None),
    "rise_needs_start_level": (without("level_tie", "near"), None),
    "rise_needs_both_levels": (several(without("level_tie", "near"), without("level_tie", "far")), None),
    "counter_off": (changed("run", RUN, expected_length_m=19.0), RUN),
    "beyond_finish": (changed("observation", "break", counter_m=21.0), "break"),
    "tie_beyond_finish": (changed("level_tie", "far", counter_m=20.4), "far"),
    "photo_missing": (without("photo", "p"), "break"),
    "photo_dark": (changed("photo", "p", brightness_pct=2.0, contrast_pct=1.0), "p"),
    "photo_bright": (changed("photo", "p", brightness_pct=99.0, contrast_pct=1.0), "p"),
    "photo_unsharp": (changed("photo", "p", focus_pct=0.4), "p"),
    "clock_missing": (changed("observation", "break", clock=None), "break"),
    "direction_missing": (
        changed("observation", "break", code="BAJ", characterisation_1="C", quantification_1=4), "break"
    ),
    "angle_missing": (
        changed("observation", "break", code="BAJ", characterisation_1="C", turns_to="left"), "break"
    ),
    "stretch_missing": (changed("stretch", "s", to_counter_m=15.0), None),
    "shape_missing": (changed("stretch", "s", shape=None), "s"),
    "size_missing": (changed("stretch", "s", height_mm=None), "s"),
    "start_position_missing": (hidden(changed("node", A, position=None)), A),
    "start_bearing_missing": (hidden(changed("run", RUN, start_bearing=None)), RUN),
    "conflict_open": (known(conflicts=[{"kind": "observation", "id": "break", "field": "clock"}]), "break"),
    "entries_set_aside": (known(set_aside=2), None),
    "entries_unsent": (known(unsent_entries=7), None),
    "photos_unsent": (known(unsent_photos=1), None),
}  # fmt: skip


def planted(code):
    """Return records and outside facts of the sound job with one fault planted."""
    records, outside = copy.deepcopy(sound()), {}
    FAULTS[code][0](records, outside)
    return records, outside
