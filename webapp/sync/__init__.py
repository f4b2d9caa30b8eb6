"""Merging entries and receiving photos."""
