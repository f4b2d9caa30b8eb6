"""Small jobs in which something could be said that is not so, each with what must and must not be said."""

from dataclasses import dataclass, field

from pack_jobs import Maker

PIPE = {
    "from_counter_m": 0.0, "to_counter_m": 40.0, "shape": "circular", "height_mm": 300,
    "size_known": "measured", "material": "concrete",
}  # fmt: skip
CRACK = {
    "code": "BAB",
    "characterisation_1": "B",
    "characterisation_2": "A",
    "quantification_1": 2,
    "counter_m": 5.0,
}
WATER = {"code": "BDD", "characterisation_1": "A"}
EVEN = tuple((m, -0.6) for m in range(0, 41, 4))


@dataclass
class Case:
    """``why``: what would be false; ``said`` and ``unsaid``: in page one, tables and figures alike."""

    why: str
    maker: Maker
    stated: tuple[str, ...] = ()
    unsaid: tuple[str, ...] = ()
    capacity: str = ""  # why no stretch has a number; ``none`` where only the run has none
    forbidden: tuple[str, ...] = ()
    conflicts: list = field(default_factory=list)


def roots(counter_m, size=30, **more):
    return {
        "code": "BBA",
        "characterisation_1": "C",
        "quantification_1": size,
        "counter_m": counter_m,
        **more,
    }


def spans(from_m, to_m, number, **fields):
    """A start and a finish."""
    marks = ((from_m, "start"), (to_m, "finish"))
    return [{**fields, "counter_m": m, "continuous": {"role": role, "number": number}} for m, role in marks]


def job(*seen, run=None, pipes=(PIPE,), read=EVEN, ties=(), checks=()):
    """A job of one run of 40 m, with a stretch, even readings and these observations."""
    maker = Maker()
    maker.add("job", title="A case")
    ends = {"end_reason": "node_reached", "end_counter_m": 40.0}
    fields = {"run_ref": "R1", "direction": "with_flow", "counter_zero_m": 0.0, **ends, **(run or {})}
    run_id = maker.add("run", **{k: v for k, v in fields.items() if v is not None})
    maker.readings(run_id, *read)
    for kind, some in (("stretch", pipes), ("observation", seen), ("level_tie", ties)):
        for one in some:
            maker.add(kind, run_id=run_id, **one)
    for one in checks:
        maker.add("check", **one)
    return maker


def also(maker, kind, **fields):
    """Another phone says otherwise of the last record of a kind."""
    record_id = [e for e in maker.entries if e["kind"] == kind][-1]["record_id"]
    maker.add(kind, record_id=record_id, writer="writer-two", **fields)
    return maker


def photographed(seen, **photo):
    maker = job(seen)
    run_id, owner = (
        [e["record_id"] for e in maker.entries if e["kind"] == kind][-1] for kind in ("run", "observation")
    )
    maker.photo(b"a picture", run_id=run_id, belongs_to=owner, **photo)
    return maker


NOT_SEEN = "nothing could be seen"
CASES = {
    "roots beyond the end": Case(
        "a narrowing outside every pipe is left out of what the run carries",
        job(CRACK, roots(55.0)),
        ("lies beyond its end, 55.00 m at the farthest", "Something narrows it where no pipe is recorded."),
        ("the run carries 1",), "none",
    ),
    "collapse without a place": Case(
        "a collapse with no counter reading leaves 137 l/s and a mild class",
        job(CRACK, {"code": "BAC", "characterisation_1": "C"}),
        ("Collapse, place not recorded", "Do not jet"), ("the run carries 1", "Stability: nothing"),
        "narrowing_without_place", ("jet", "load"),
    ),
    "pipe recorded over half": Case(
        "the number of one stretch is given for the run",
        job(CRACK, pipes=[PIPE | {"to_counter_m": 20.0}]),
        ("as a whole is not given. The pipe is not recorded all along.",), ("the run carries 1",), "none",
    ),
    "ended at an obstruction": Case(
        "what stopped the crawler is no narrowing",
        job(CRACK, run={"end_reason": "obstruction", "end_counter_m": 28.4, "expected_length_m": 45.0},
            pipes=[PIPE | {"to_counter_m": 28.4}]),
        ("ended at an obstruction, and what that leaves is not recorded", "about 16.6 m beyond 28.40 m"),
        ("the run carries 1",), "none",
    ),
    "ended at an obstruction with its size": Case(
        "a sized obstruction at the end gives a number, and it counts",
        job(CRACK, {"code": "BBE", "characterisation_1": "C", "quantification_1": 60, "counter_m": 39.8},
            run={"end_reason": "obstruction"}),
        ("Other obstruction: leaves",), ("what that leaves is not recorded",),
    ),
    "levels in two datums": Case(
        "a fall of 93 m in 40 m of pipe, and what it would carry",
        job(CRACK, ties=[{"counter_m": 0.0, "invert_level_m": 98.7, "sd_m": 0.005},
                         {"counter_m": 40.0, "invert_level_m": 5.2, "sd_m": 0.005}]),
        ("contradicted by the level ties", "Level ties and readings contradict each other."),
        ("m (computed).\nRun", "l/s full"), "levels_contradicted",
    ),
    "water to the crown": Case(
        "a full pipe counts as looked at", job(CRACK, WATER | {"quantification_1": 100, "counter_m": 10.0}),
        ("from 10.00 m to 40.00 m nothing could be seen", "not known over 30.00 m"),
        ("No defect was seen", "All of the 40.00 m"), "length_not_seen",
    ),
    "water at a third": Case(
        "the invert below the water counts as seen",
        job(CRACK, WATER | {"quantification_1": 35, "counter_m": 10.0}),
        ("30.00 m of it only in part", "hides the wall from 3 to 9 o’clock"),
    ),
    "water of no depth": Case(
        "water whose depth was not recorded hides nothing", job(CRACK, WATER | {"counter_m": 10.0}),
        ("30.00 m of it only in part",),
    ),
    "view lost at a point": Case(
        "a lost view lasts no longer than its record",
        job(CRACK, {"code": "BDG", "characterisation_1": "A", "counter_m": 12.0}, roots(30.0)),
        ("from 12.00 m to 30.00 m nothing could be seen",), ("All of the 40.00 m",), "length_not_seen",
    ),
    "readings alone": Case(
        "levels without a single observation are a sound pipe",
        job(), ("nothing recorded shows that the camera looked at the wall",),
        ("No defect was seen", "no action"),
    ),
    "start node alone": Case(
        "a node is no sight of the wall", job({"code": "BCD", "characterisation_1": "A", "counter_m": 0.0}),
        ("nothing recorded shows that the camera looked at the wall",), ("No defect was seen",),
    ),
    "no readings": Case(
        "a capacity without any fall", job(CRACK, read=()),
        ("The gradient is not known.",), ("the invert falls", "l/s full"), "none",
    ),
    "all beyond the range": Case(
        "a number from bounds alone", job(CRACK, read=((0, "-"), (20, "-"), (40, "-"))),
        ("falls at least", "Only a bound of its fall is known."), ("l/s full",), "fall_only_bounded",
    ),
    "rising with the flow": Case(
        "an adverse pipe carries water", job(CRACK, read=tuple((m, 0.6) for m in range(0, 41, 4))),
        ("It rises with the flow.", "backfall from 0.00 to 40.00 m"), ("l/s full",), "none",
    ),
    "against the flow": Case(
        "a run surveyed upstream that rises is no backfall",
        job(CRACK, run={"direction": "against_flow"}, read=tuple((m, 0.6) for m in range(0, 41, 4))),
        ("the run carries", "No backfall or sag is found"), ("backfall from",),
    ),
    "only a finish": Case(
        "a finish without its start is no defect",
        job({"code": "BBA", "characterisation_1": "B", "quantification_1": 10, "counter_m": 10.0,
             "continuous": {"role": "finish", "number": 1}}),
        ("1 of them defects", "its start was not recorded"), ("No defect was seen", "0 of them defects"),
    ),
    "only a start": Case(
        "what goes on is shown as a point",
        job({"code": "BBC", "characterisation_1": "A", "quantification_1": 30, "counter_m": 10.0,
             "continuous": {"role": "start", "number": 1}}),
        ("it goes on, and its finish was not recorded",
         "from 10.00 m to 40.00 m the wall was seen only in part"),
    ),
    "two overlapping": Case(
        "of two overlapping lengths of roots the milder one counts",
        job(*spans(10, 30, 1, **roots(0, 30)), *spans(20, 35, 2, **roots(0, 60))),
        ("20.00 to 35.00 m", "10.00 to 30.00 m", "2 of them defects"), ("4 of them defects",),
    ),
    "start and finish": Case(
        "one defect with its two marks counts twice", job(*spans(10, 30, 1, **roots(0, 30))),
        ("1 of them defects",), ("2 of them defects",),
    ),
    "deposit fills the bore": Case(
        "a blocked pipe carries",
        job({"code": "BBC", "characterisation_1": "A", "quantification_1": 100, "counter_m": 9.0}),
        ("Something fills the bore.",), ("l/s full",), "bore_blocked",
    ),
    "more than the whole": Case(
        "120 % of the bore passes for a size", job(roots(10.0, 120)),
        ("120 % is more than the whole.", "Something fills the bore."), ("l/s full",), "bore_blocked",
    ),
    "pieces moved": Case(
        "a broken wall with its pieces in the bore leaves a clean one",
        job({"code": "BAC", "characterisation_1": "A", "quantification_1": 200, "counter_m": 9.0}),
        ("Something narrows it whose size was not recorded.",), ("l/s full",), "narrowing_without_size",
    ),
    "lining detached": Case(
        "a lining that hangs in the bore leaves it clean, and its size in mm is a share",
        job({"code": "BAK", "characterisation_1": "A", "quantification_1": 60, "counter_m": 4.0},
            pipes=[PIPE | {"lining": "cured_in_place"}]),
        ("Something narrows it whose size was not recorded.", "a lining hides the pipe"), ("l/s full",),
        "narrowing_without_size",
    ),
    "behind a lining": Case(
        "no defect of the pipe itself", job({"code": "BAK", "characterisation_1": "B", "counter_m": 4.0},
                                            pipes=[PIPE | {"lining": "cured_in_place"}]),
        ("from 0.00 m to 40.00 m a lining hides the pipe: what is said of the wall is said of the lining.",),
    ),
    "gas without a place": Case(
        "bad air is forgotten where its place was not recorded",
        job(CRACK, {"code": "BDF", "characterisation_1": "B"}),
        ("Bad air, place not recorded", "Nobody enters"), (), "", ("enter",),
    ),
    "cable of unknown kind": Case(
        "an obstruction whose kind was not recorded is cut out",
        job({"code": "BBE", "quantification_1": 40, "counter_m": 10.0}),
        ("may be: its kind is not settled",), (), "", ("jet", "cut", "pull"),
    ),
    "void and roots": Case(
        "roots beside a void are jetted", job({"code": "BAP", "counter_m": 8.0}, roots(20.0, 50)),
        ("Do not jet", "Only once that is settled: clean"), (), "", ("jet", "load"),
    ),
    "size in dispute": Case(
        "one of two sizes is taken", also(job(CRACK), "stretch", height_mm=150),
        ("Circular 300 mm or Circular 150 mm, not settled", "Two phones recorded its pipe differently."),
        ("l/s, 95 % band", "the run carries 1"), "none",
    ),
    "shape in dispute, one without a size": Case(
        "a shape that gives no number is not picked", also(job(CRACK), "stretch", shape="rectangular"),
        ("Two phones recorded its pipe differently.", "not settled"), ("l/s full",), "pipe_in_dispute",
    ),
    "material in dispute": Case(
        "a crack in a rigid or a flexible pipe has one class",
        also(job({"code": "BAA", "characterisation_1": "A", "quantification_1": 9, "counter_m": 9.0}),
             "stretch", material="pvc_u"),
        ("Two values stand in dispute; the class spans both.",), ("the run carries 1",), "none",
    ),
    "end in dispute": Case(
        "metres that one of two people surveyed count as seen", also(job(CRACK), "run", end_counter_m=20.0),
        ("where the run ended is in dispute", "in dispute: it ended at counter", "not known over 20.00 m"),
        ("All of the 40.00 m",), "length_not_seen",
    ),
    "direction in dispute": Case(
        "the flow is one of two ways, as measured", also(job(CRACK), "run", direction="against_flow"),
        ("flow direction not known", "(assumed)."), (", with the flow",),
    ),
    "reason in dispute": Case(
        "the node was reached, says one of two", also(job(CRACK), "run", end_reason="water"),
        ("not settled",), (),
    ),
    "roots in dispute": Case(
        "25 or 50 % print one class", also(job(roots(12.0, 25)), "observation", quantification_1=50),
        ("between 3, marked, and 5, severe",), ("l/s, 95 % band",), "none",
    ),
    "nothing about the end": Case(
        "the last reading passes for the end of the run, as measured",
        job(CRACK, run={"end_reason": None, "end_counter_m": None}, read=((0, -0.6), (20, -0.6))),
        ("assumed: the last recorded place",), ("measured: where the run is recorded to have ended",),
        "length_not_seen",
    ),
    "ended where it begins": Case(
        "a run of no length was surveyed over 40 m",
        job(CRACK, run={"counter_zero_m": 5.0, "end_counter_m": 5.0}),
        ("recorded to end where it begins", "lie beyond its end"), ("No defect was seen", "All of the"),
        "length_not_seen",
    ),
    "records before the start": Case(
        "what lies before chainage zero goes unnoticed",
        job(CRACK | {"counter_m": 1.0}, run={"counter_zero_m": 3.0}),
        ("before its start",),
    ),
    "photo with its time": Case(
        "a picture without the time it was taken",
        photographed(CRACK, taken_at="2026-11-25T10:31:07+01:00", caption="Crack"),
        ("Crack, 5.00 m, 25 Nov 2026, 10:31 UTC+01:00",), (),
    ),
}  # fmt: skip
