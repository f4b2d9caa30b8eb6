"""Hypothesis draws a case and keeps no book of it.

Hypothesis notes each choice and each part of a case, so that it can shrink what failed. Cases that are
drawn by the thousand and compared afterwards need none of that: most of their time went there. This leans
on the inside of Hypothesis, so pyproject.toml holds it to one minor version.
"""

import math
from contextlib import nullcontext
from random import Random

from hypothesis.internal.conjecture.data import ConjectureData
from hypothesis.internal.conjecture.providers import HypothesisProvider

NO_LABELS = nullcontext({})
NO_SPAN = nullcontext(0)


class LightData(ConjectureData):
    """Where strategies draw from: the values that Hypothesis's own provider gives, from one seed."""

    def __init__(self, seed):
        super().__init__(random=Random(seed), provider=HypothesisProvider)

    def draw(self, strategy, label=None, observe_as=None):
        return strategy.do_draw(self)

    def draw_boolean(self, p=0.5, *, forced=None, observe=True):
        return self.provider.draw_boolean(p) if forced is None else forced

    def draw_integer(self, min_value=None, max_value=None, *, forced=None, observe=True, **more):
        return self.provider.draw_integer(min_value, max_value, **more) if forced is None else forced

    def draw_float(self, min_value=-math.inf, max_value=math.inf, *, forced=None, observe=True, **more):
        more |= {"min_value": min_value, "max_value": max_value}
        return self.provider.draw_float(**more) if forced is None else forced

    def draw_string(self, intervals, *, forced=None, observe=True, **more):
        return self.provider.draw_string(intervals, **more) if forced is None else forced

    def draw_bytes(self, *sizes, forced=None, observe=True, **more):
        return self.provider.draw_bytes(*sizes, **more) if forced is None else forced

    def start_span(self, label):
        self.depth += 1

    def stop_span(self, *, discard=False):
        self.depth -= 1

    def track_arg_label(self, label):
        return NO_LABELS

    def track_arg_span(self):
        return NO_SPAN
