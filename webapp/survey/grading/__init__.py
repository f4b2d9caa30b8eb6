"""Condition classes, hazards, and what to do next."""
