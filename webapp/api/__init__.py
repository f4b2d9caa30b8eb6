"""Thin routes: parse, call, answer."""

from flask import Flask

from . import (
    bodies,
    declination,
    erasing,
    health,
    imports,
    jobs,
    joining,
    letting_in,
    media,
    office,
    packs,
    photos,
    sync,
)

__all__ = ["bodies", "office", "register"]


def register(app: Flask) -> None:
    """Put every route on the application."""
    for module in (
        declination,
        erasing,
        health,
        imports,
        jobs,
        joining,
        letting_in,
        media,
        office,
        packs,
        photos,
        sync,
    ):
        app.register_blueprint(module.bp)
