"""The one way to what a command does: ``loaded("export:export")`` returns ``export`` of ``run/export.py``.

A command is declared in this folder and done in ``run/``.  A module there imports what it likes at its top:
nothing of it is loaded for help, for completing a name, or for another command.
"""

import importlib
from collections.abc import Callable
from typing import Any


def declared(target: str) -> Any:
    """Return what ``module:name`` names in this folder; its module is imported now."""
    return _named(str(__package__), target)


def loaded(target: str) -> Any:
    """Return what ``module:name`` names in ``run/``; its module is imported now."""
    return _named(f"{__package__}.run", target)


def _named(package: str, target: str) -> Any:
    module, name = target.split(":")
    return getattr(importlib.import_module(f"{package}.{module}"), name)


def when_called(target: str) -> Callable[..., Any]:
    """Return a function that passes its values on to ``target``, loaded at its first call."""

    def call(**values: Any) -> Any:
        return loaded(target)(**values)

    return call
