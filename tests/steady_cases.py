"""Generated cases are the same whatever else a process has loaded.

Hypothesis sprinkles its cases with constants from the modules that are loaded when it draws.  Which those
are hangs on the order of the tests and on the process that runs them, so here they come from the formulas
alone.  This leans on the inside of Hypothesis, so pyproject.toml holds it to one minor version.
"""

import functools
import importlib
import pkgutil

from hypothesis.internal.conjecture import providers
from hypothesis.internal.constants_ast import Constants, constants_from_module

import webapp.survey


@functools.cache
def constants() -> Constants:
    """Return the constants of every module of ``webapp/survey``, in an order of their own."""
    ordered = providers.SortedSet
    numbers = ordered(key=providers.float_to_int)
    found = Constants(integers=ordered(), floats=numbers, bytes=ordered(), strings=ordered())
    for one in pkgutil.walk_packages(webapp.survey.__path__, "webapp.survey."):
        found |= constants_from_module(importlib.import_module(one.name))
    return found


def hold() -> None:
    """Let Hypothesis take no other constants."""
    providers._get_local_constants = constants
