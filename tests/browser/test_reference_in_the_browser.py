"""The reference values in the browser: every product call behind them, made again in Chromium.

While Python evaluates the values, each call into webapp/survey is noted. The same calls then run
in a real browser, and must give the same numbers; Python's are within their tolerances.
"""

import dataclasses
import functools
import importlib
import inspect
import math
import types

from reference import all_cases
from twin import camel

from webapp.selfcheck import reference
from webapp.selfcheck.topics import topics

CALLS = """async (argument) => {
  const answers = [];
  for (const [module, name, args] of argument) {
    const functions = await import(`/static/js/survey/${module}.js`);
    answers.push(functions[name](...args) ?? null);
  }
  return answers;
}"""

MODULES = ("levels", "sections", "plan", "instruments")
# Topics of formulas that no screen uses: they stand in webapp/selfcheck/ and have no twin on a phone.
NOT_ON_PHONES = {
    "area_lost_to_ovality", "colebrook_diameter", "colebrook_head_loss", "dead_reckoning_leg", "deformation",
    "fall_over_length", "foul_flow_from_dwellings", "level_closure_check", "level_misclosure_by_distance",
    "level_misclosure_by_setups", "level_net_least_squares", "manning_diameter", "manning_gradient", "ovality",
    "ovality_reduction_factor", "proportional_depth", "slope_distance", "traverse_bowditch",
}  # fmt: skip


def plain(value):
    """Dataclasses, named tuples and tuples as JSON has them."""
    if dataclasses.is_dataclass(value):
        return {f.name: plain(getattr(value, f.name)) for f in dataclasses.fields(value)}
    if hasattr(value, "_asdict"):
        return plain(value._asdict())
    if isinstance(value, dict):
        return {k: plain(v) for k, v in value.items()}
    if isinstance(value, list | tuple):
        return [plain(v) for v in value]
    return value


class Noting:
    """Notes the calls that the modules of webapp/selfcheck make into webapp/survey."""

    def __init__(self, monkeypatch):
        self.calls = []
        self.inside = False
        for name in MODULES:
            module = importlib.import_module(f"webapp.selfcheck.{name}")
            for key, value in list(vars(module).items()):
                if isinstance(value, types.ModuleType) and value.__name__.startswith("webapp.survey."):
                    stand_in = types.SimpleNamespace(**{k: self.noted(v) for k, v in vars(value).items()})
                    monkeypatch.setattr(module, key, stand_in)
                else:
                    monkeypatch.setattr(module, key, self.noted(value))

    def noted(self, function):
        if not inspect.isfunction(function) or not function.__module__.startswith("webapp.survey."):
            return function

        @functools.wraps(function)
        def wrapper(*args, **kwargs):
            result = function(*args, **kwargs)
            bound = inspect.signature(function).bind(*args, **kwargs)
            bound.apply_defaults()
            given = [plain(value) for value in bound.arguments.values()]
            if not any(callable(value) for value in given):
                module = function.__module__.removeprefix("webapp.survey.").replace(".", "/")
                self.calls.append(((module, camel(function.__name__), given), plain(result)))
            return result

        return wrapper


def alike(ours, theirs):
    """Equal in shape, numbers to 1e-9 relative; a part that JavaScript leaves out is not defined."""
    if ours is None or theirs is None or isinstance(ours, bool | str):
        return ours == theirs
    if isinstance(ours, int | float):
        return isinstance(theirs, int | float) and math.isclose(ours, theirs, rel_tol=1e-9, abs_tol=1e-9)
    if isinstance(ours, dict):
        return all(alike(value, theirs.get(key)) for key, value in ours.items())
    return len(ours) == len(theirs) and all(map(alike, ours, theirs))


def test_every_reference_value_holds_in_the_browser(page_kit, monkeypatch):
    noting = Noting(monkeypatch)
    for name in MODULES:
        module = importlib.import_module(f"webapp.selfcheck.{name}")
        # TOPICS names the functions themselves, whose own calls go through the noted names
        assert set(module.TOPICS) <= set(topics())
    spoken = set()
    for case in all_cases():
        before = len(noting.calls)
        assert [row.id for row in reference.evaluate([case]) if row.ok is not True] == []
        if len(noting.calls) > before:
            spoken.add(case["topic"])
    assert {case["topic"] for case in all_cases()} - spoken == NOT_ON_PHONES
    answers = page_kit.page.evaluate(CALLS, [list(call) for call, _ in noting.calls])
    wrong = [
        (call[0], call[1])
        for (call, ours), theirs in zip(noting.calls, answers, strict=True)
        if not alike(ours, theirs)
    ]
    assert wrong == []
