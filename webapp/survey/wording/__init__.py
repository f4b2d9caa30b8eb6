"""Sentences about what was computed, filled from the catalogue of messages."""
