"""Jobs of one length surveyed in pieces, for the tests of this folder."""

from pack_jobs import Maker

PIPE = {"shape": "circular", "height_mm": 300, "size_known": "measured", "material": "concrete"}


def nodes_of(maker, levels=True):
    depths = (1.5, 1.9) if levels else (None, None)
    found = []
    for ref, deep_m in zip(("MH1", "MH2"), depths, strict=True):
        dip = {} if deep_m is None else {"cover_level_m": 10.0, "dipped_depth_m": deep_m}
        found.append(maker.add("node", node_ref=ref, node_type="manhole", **dip))
    return found


def piece(maker, ref, ends, end_m, reason="obstruction", turned=False, **more):
    """Add a run with readings every 2 m, a stretch and a crack at 1 m; returns its id."""
    start, finish = ends
    fields = {"start_node_id": start, "finish_node_id": finish, "counter_zero_m": 0.0}
    fields |= {"direction": "against_flow" if turned else "with_flow", "end_counter_m": end_m}
    run_id = maker.add("run", run_ref=ref, end_reason=reason, **(fields | more))
    deg = 0.5 if turned else -0.5
    maker.readings(run_id, *((float(m), deg) for m in range(0, int(end_m) + 1, 2)))
    maker.add("stretch", run_id=run_id, from_counter_m=0.0, to_counter_m=end_m, **PIPE)
    maker.add("observation", run_id=run_id, code="BAB", counter_m=1.0, characterisation_1="B",
              characterisation_2="A", clock={"hour_from": 3}, quantification_1=2)  # fmt: skip
    return run_id


def two_ended(a_m=28.4, b_m=16.6, expected_m=45.0, reason="obstruction"):
    """Obstructed at a, surveyed on from the other end for b, of what is expected."""
    maker = Maker()
    maker.add("job", title="A drain with a brick in it", surveyor="A. Surveyor", level_datum="Site datum")
    first, second = nodes_of(maker)
    known = {} if expected_m is None else {"expected_length_m": expected_m}
    one = piece(maker, "R1", (first, second), a_m, reason, **known)
    two = piece(maker, "R2", (second, first), b_m, reason, turned=True, continues_run_id=one)
    for run_id, end_m in ((one, a_m), (two, b_m)):
        maker.add("observation", run_id=run_id, code="BDC", counter_m=end_m, characterisation_1="A")
    return maker, one, two
