"""Every figure of a run and of a length, on the server and on the phone: each key of both, none left out."""

from functools import cached_property

from parity import parity
from run_cases import lengths, single_runs
from twins import as_json, far

from webapp import tables
from webapp.figures.findings import findings_of
from webapp.figures.leave import leave_items
from webapp.figures.lengths import length_figures, whole_length
from webapp.figures.run_figures import TABLES, RunFigures, run_figures
from webapp.figures.run_records import RunRecords

TWIN = "../../tests/js/figure_cases"
USED = tables.by_name(*TABLES, "leave_site", "safety_sheet")
WITHOUT = ("tables", "job", "first", "whole")  # what goes in, and what is compared by itself
WITHIN = 1e-6  # levels of a run whose ties tell little apart keep fewer digits


def every_figure(figures):
    """Return every figure by its name, whatever figures there are."""
    if figures is None:
        return None
    named = [pair for made in RunFigures.__mro__ for pair in vars(made).items()]
    names = [name for name, one in named if isinstance(one, cached_property | property)]
    found = {name: as_json(getattr(figures, name)) for name in names}
    rest = {n: as_json(v) for n, v in vars(figures).items() if n not in (*names, *WITHOUT)}
    return found | rest


def of_the_job(case):
    own = case["runs"][0]["records"]
    photos = [photo for one in case["runs"] for photo in one["records"]["photos"]]
    job = [{"id": "j", "fields": case["job"]}]
    return {"job": job, "node": own["nodes"], "check": own["checks"], "photo": photos}


def ours(case):
    each = [
        run_figures(one["recorded"], RunRecords(**one["records"]), case["job"], USED) for one in case["runs"]
    ]
    whole = whole_length(each, USED) if len(each) > 1 else None
    length = None if whole is None else length_figures(whole, each[0])
    return {
        "runs": [every_figure(one) for one in each],
        "whole": as_json(whole),
        "length": every_figure(length),
        "findings": [findings_of(one.source, USED["observation_codes"]["rows"]) for one in each],
        "leave": leave_items(of_the_job(case), [one.source for one in each], {}, USED),
    }


def alike(one, other, name=""):
    """Say whether two values are the same, numbers within WITHIN; millions of them are asked."""
    kind = type(one)
    if kind is type(other):
        if kind is dict:
            return one.keys() == other.keys() and all(
                mine is (theirs := other[key]) or alike(mine, theirs, key) for key, mine in one.items()
            )
        if kind is list:
            return len(one) == len(other) and all(alike(*pair, name) for pair in zip(one, other, strict=True))
        if one == other:
            return True
    return far(one, other, 1.0, name) <= WITHIN


def apart(one, other, where="", name=""):
    """Yield where two values differ, deepest first."""
    if isinstance(one, dict) and isinstance(other, dict):
        for key in sorted(one.keys() | other.keys()):
            if key not in one or key not in other:
                yield f"{where}.{key}: only {'ours' if key in one else 'theirs'}"
            else:
                yield from apart(one[key], other[key], f"{where}.{key}", key)
    elif isinstance(one, list) and isinstance(other, list) and len(one) == len(other):
        for k, pair in enumerate(zip(one, other, strict=True)):
            yield from apart(*pair, f"{where}[{k}]", name)
    elif far(one, other, 1.0, name) > WITHIN:
        yield f"{where}: {one!r} and {other!r}"


def with_tables(twin):
    """The tables are too large to send with each case."""
    twin.call(TWIN, "use_tables", USED)


def both_sides_agree(twin, case):
    here = ours(case)

    def check(there, error):
        assert error is None, error
        assert alike(here, there), list(apart(here, there))

    twin.expect(TWIN, "figure_case", (case["job"], case["runs"]), check)


@parity(single_runs(), by=TWIN, first=with_tables, each=4, cases=1200)
def test_phone_and_server_make_the_same_of_a_run(twin, case):
    both_sides_agree(twin, case)


@parity(lengths(), by=TWIN, first=with_tables, each=4, cases=800, of=2)
def test_phone_and_server_make_the_same_of_a_length(twin, case):
    both_sides_agree(twin, case)
