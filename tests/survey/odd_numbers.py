"""Strategies of numbers as a survey has them, and of what is no number."""

import math

from hypothesis import strategies as st

odd = st.sampled_from([math.nan, math.inf, -math.inf, 1e10, None, "1", True, 10**400, -0.0])
degrees = st.one_of(st.floats(-720, 720), st.integers(-360, 360))
lengths = st.one_of(st.integers(0, 500), st.floats(0, 500))
numbers = st.one_of(degrees, lengths, odd)
