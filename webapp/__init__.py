"""Fallbook: the field book of a camera-crawler surveyor."""

from .app import create_app

__all__ = ["create_app"]
