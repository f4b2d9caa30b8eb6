"""Observations: their codes, how far they go on, where on the clock, what could be seen."""
