"""Fallbook: the field book of a camera-crawler surveyor."""
