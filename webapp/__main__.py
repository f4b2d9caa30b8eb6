"""``python -m webapp`` is the ``fallbook`` command."""

from .start import fallbook

fallbook()
