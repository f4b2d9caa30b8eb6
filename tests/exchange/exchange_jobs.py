"""Hypothesis strategies for whole jobs, as folded records: what a surveyor could have recorded."""

from dataclasses import dataclass, field

from hypothesis import strategies as st

from webapp import tables
from webapp.schemas import site
from webapp.schemas.base import CONTROL
from webapp.schemas.pipe import DATUMS, DIRECTIONS, END_REASONS

NASTY = st.sampled_from(
    ['"', "'", ",", ";", "#Z", "#B01=AAA", "\t", "\n", "\r\n", "\u2028", "\x85", "=1+1", "ž", "€", "…", "🙂",
     "שלום",     "  ", "é", "½", "Ã¤", "№ 4", "ﬁ", "＃", "\u0301", "\xa0", "\u2003", "A, b = c", "A + b"]
)  # fmt: skip


@dataclass
class Rec:
    """A folded record."""

    id: str
    kind: str
    fields: dict
    conflicts: dict = field(default_factory=dict)
    removed: bool = False


def texts(longest):
    free = st.text(st.characters(exclude_categories=["Cs"]), max_size=12)
    whole = st.lists(free | NASTY, max_size=8).map("".join)
    return st.none() | whole.map(lambda t: CONTROL.sub("", t)[:longest])


def numbers(low, high):
    tidy = st.integers(int(low), int(high)) | st.integers(int(low * 100), int(high * 100)).map(
        lambda n: n / 100
    )
    return st.none() | tidy.filter(lambda n: low <= n <= high) | st.floats(low, high)


def counters(high=4000.0):
    near = st.sampled_from([0, 0.0, 0.004, 0.005, 0.006, 3.051, 3.054, 3.055, 7, 12.345])
    return near | st.integers(0, 400_000).map(lambda n: n / 100) | st.floats(0, high)


def record(kind, **named):
    """A record of a kind with some of the fields."""
    return st.tuples(st.just(kind), st.fixed_dictionaries({}, optional=named))


TABLE = tables.load("observation_codes")["rows"]
CODES = st.sampled_from([r["code"] for r in TABLE] + ["XAB", "XZ9", "AEA", "AEG"])
LETTERS = st.none() | st.sampled_from(["", *"ABCDEYZ", "XX", "A,B", "a b"])
HOURS = st.integers(1, 12)
CLOCK = st.none() | st.fixed_dictionaries({"hour_from": HOURS}, optional={"hour_to": HOURS})
CONTINUOUS = st.none() | st.fixed_dictionaries(
    {"role": st.sampled_from(["start", "change", "finish"]), "number": st.integers(1, 999)}
)


def choice(values):
    return st.none() | st.sampled_from(sorted(values))


def of_run(run):
    """Strategies of the records that belong to a run."""
    own = {"run_id": st.just(run)}
    return st.one_of(
        record(
            "observation", **own, counter_m=counters(), code=CODES, characterisation_1=LETTERS,
            characterisation_2=LETTERS, quantification_1=numbers(0, 100_000), clock=CLOCK,
            quantification_2=numbers(0, 100_000), at_joint=st.booleans() | st.none(), continuous=CONTINUOUS,
            remark=texts(400),
        ),
        record(
            "stretch", **own, from_counter_m=st.none() | counters(), shape=choice(tables.choices("shapes")),
            height_mm=numbers(10, 20_000), width_mm=numbers(10, 20_000), remark=texts(400),
            material=choice(tables.choices("materials")), lining=choice(tables.choices("linings")),
            pipe_unit_length_m=numbers(0.1, 100),
        ),
        record("remark", **own, counter_m=st.none() | counters(), text=texts(4000)),
        record("photo", **own, counter_m=st.none() | counters(), caption=texts(400),
               sha256=st.just("ab" * 32), belongs_to=st.sampled_from(["o1", "o2", "o3"])),
        record("reading", **own, counter_m=counters()),
    )  # fmt: skip


@st.composite
def jobs(draw):
    """The records of a job."""
    nodes = [f"n{i}" for i in range(draw(st.integers(0, 3)))]
    runs = [f"r{i}" for i in range(draw(st.integers(1, 3)))]
    ends = st.sampled_from([*nodes, "gone"])
    made = [
        draw(
            record(
                "job", title=texts(120), client_reference=texts(80), purpose=choice(site.PURPOSES),
                site=texts(400), surveyor=texts(80), surveyed_on=st.none() | st.dates().map(str),
                weather=choice(site.WEATHER), flow_control=choice(site.FLOW_CONTROL),
            )
        )
    ]  # fmt: skip
    found = [Rec("j", *made[0])]
    for node in nodes:
        found.append(Rec(node, *draw(record("node", node_ref=texts(60), dipped_depth_m=numbers(0, 100)))))
    for run in runs:
        found.append(
            Rec(
                run,
                *draw(
                    record(
                        "run", run_ref=texts(60), start_node_id=ends, finish_node_id=st.none() | ends,
                        direction=choice(DIRECTIONS), chainage_datum=choice(DATUMS), remark=texts(400),
                        counter_zero_m=numbers(0, 10), expected_length_m=numbers(0, 5000),
                        end_reason=choice(END_REASONS), end_counter_m=st.none() | counters(),
                    )
                ),
            )
        )  # fmt: skip
        for kind, fields in draw(st.lists(of_run(run), max_size=7)):
            prefix = {"observation": "o", "stretch": "s", "photo": "p"}.get(kind, "x")
            found.append(Rec(f"{prefix}{len(found)}", kind, {**fields, "run_id": run}))
    return found
