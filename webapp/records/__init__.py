"""Entries folded to records, and whole jobs as one file."""
