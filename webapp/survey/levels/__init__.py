"""Levels along a run with their uncertainty, and where water stands."""
