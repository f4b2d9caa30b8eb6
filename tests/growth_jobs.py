"""A long run, made up: one job file with as many readings as asked for."""

import random

WAY_M, MAX_LENGTH_M = 0.2, 5000.0
_MANY = 0xFFFFFFFF  # the number of that job's id


def uid(number):
    """A UUIDv7 that tells its number."""
    return f"01900000-0000-7000-8000-{number:012x}"


def many_runs(runs, readings=40):
    """A job with so many runs, each with two ties and six cracks."""
    dice = random.Random(runs)
    records = [("job", _MANY, {"title": "Many runs"})]
    for n in range(1, runs + 1):
        first, end_m = 10_000 * n, float(readings)
        run_id = uid(first + 2)
        records += [
            ("node", first + 1, {"node_ref": f"MH{n}"}),
            ("run", first + 2, {"run_ref": f"R{n}", "start_node_id": uid(first + 1), "direction": "with_flow",
                                "counter_zero_m": 0, "end_counter_m": end_m}),
            ("stretch", first + 3, {"run_id": run_id, "from_counter_m": 0, "to_counter_m": end_m,
                                    "shape": "circular", "height_mm": 300, "material": "pvc_u"}),
        ]  # fmt: skip
        for k in range(readings):
            fields = {"run_id": run_id, "counter_m": float(k), "inclination": _slope(dice)}
            records.append(("reading", first + 1000 + k, fields))
        for k in range(2):
            tie = {"run_id": run_id, "counter_m": 5.0 + 20 * k, "invert_level_m": 10 - 0.2 * k}
            records.append(("level_tie", first + 100 + k, tie))
        for k in range(6):
            crack = {"code": "BAB", "characterisation_1": "B", "characterisation_2": "A"}
            records.append(
                ("observation", first + 500 + k, {"run_id": run_id, "counter_m": 5.0 * k, **crack})
            )
    return _job_file(records, _MANY)


def _slope(dice):
    return {"size": round(abs(dice.gauss(0.6, 0.4)) + 0.1, 2), "unit": "deg",
            "sense": "falling" if dice.random() < 0.85 else "rising"}  # fmt: skip


def _job_file(records, number=1):
    return {
        "format": "fallbook-job", "version": 1, "job_id": uid(number), "photos": [],
        "records": [{"kind": kind, "id": uid(number), "fields": fields} for kind, number, fields in records],
    }  # fmt: skip


def job(count):
    """A job with one run: readings 0.2 m apart, nearer in 5 km if need be, five ties, a crack every 10 m."""
    dice = random.Random(count)
    way_m = min(WAY_M, MAX_LENGTH_M / count)
    end_m = count * way_m
    records = [
        ("job", 1, {"title": "Long run"}),
        ("node", 2, {"node_ref": "MH1"}),
        ("node", 3, {"node_ref": "MH2"}),
        ("run", 4, {"run_ref": "R1", "start_node_id": uid(2), "finish_node_id": uid(3),
                    "direction": "with_flow", "counter_zero_m": 0, "end_counter_m": end_m}),
        ("stretch", 5, {"run_id": uid(4), "from_counter_m": 0, "to_counter_m": end_m, "shape": "circular",
                        "height_mm": 300, "material": "pvc_u"}),
    ]  # fmt: skip
    for k in range(count):
        fields = {"run_id": uid(4), "counter_m": round(k * way_m, 3), "inclination": _slope(dice)}
        records.append(("reading", 1000 + k, fields))
    for k in range(1, 6):
        fields = {
            "run_id": uid(4),
            "counter_m": round(k * end_m / 6, 2),
            "invert_level_m": 10 - k * end_m / 600,
        }
        records.append(("level_tie", 100 + k, fields))
    for k in range(int(end_m // 10)):
        crack = {"code": "BAB", "characterisation_1": "B", "characterisation_2": "A", "quantification_1": 2}
        records.append(("observation", 500_000 + k, {"run_id": uid(4), "counter_m": 10.0 * k, **crack}))
    return _job_file(records)
