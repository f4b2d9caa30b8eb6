"""Readings of another instrument from a table in a text file."""
