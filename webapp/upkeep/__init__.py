"""Copies and checks of a whole installation."""
