"""A long run, made up: one job file with as many readings as asked for."""

import random

WAY_M = 0.2


def uid(number):
    """A UUIDv7 that tells its number."""
    return f"01900000-0000-7000-8000-{number:012x}"


def job(count):
    """A job with one run: readings 0.2 m apart, five ties, a crack every 10 m."""
    dice = random.Random(count)
    end_m = count * WAY_M
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
        slope = {"size": round(abs(dice.gauss(0.6, 0.4)) + 0.1, 2), "unit": "deg",
                 "sense": "falling" if dice.random() < 0.85 else "rising"}  # fmt: skip
        fields = {"run_id": uid(4), "counter_m": round(k * WAY_M, 3), "inclination": slope}
        records.append(("reading", 1000 + k, fields))
    for k in range(1, 6):
        fields = {
            "run_id": uid(4),
            "counter_m": round(k * end_m / 6, 2),
            "invert_level_m": 10 - k * end_m / 600,
        }
        records.append(("level_tie", 100 + k, fields))
    for k in range(count // 50):
        crack = {"code": "BAB", "characterisation_1": "B", "characterisation_2": "A", "quantification_1": 2}
        records.append(("observation", 500_000 + k, {"run_id": uid(4), "counter_m": 10.0 * k, **crack}))
    return {
        "format": "fallbook-job", "version": 1, "job_id": uid(1), "photos": [],
        "records": [{"kind": kind, "id": uid(number), "fields": fields} for kind, number, fields in records],
    }  # fmt: skip
