"""``fallbook recipe``: files for a hosted server, to start from."""

from pathlib import Path

import click

from ..recipe import FILES

FOLDER = Path(__file__).resolve().parents[2] / "recipes"


def recipe(name: str) -> None:
    """Print a file for a hosted server."""
    click.echo((FOLDER / FILES[name]).read_bytes(), nl=False)
