"""What the product computes for each topic of the reference values; see ``reference``."""

import importlib
import pkgutil
from collections.abc import Callable
from pathlib import Path

from .watched import Values

Figure = Callable[[Values], Values]


def topics() -> dict[str, Figure]:
    """Return every topic with the function that computes it, from all modules of this folder."""
    found: dict[str, Figure] = {}
    for module in sorted(m.name for m in pkgutil.iter_modules([str(Path(__file__).parent)])):
        own = getattr(importlib.import_module(f"{__package__}.{module}"), "TOPICS", {})
        twice = found.keys() & own.keys()
        if twice:
            raise ValueError(f"topics computed twice: {sorted(twice)}")
        found.update(own)
    return found
