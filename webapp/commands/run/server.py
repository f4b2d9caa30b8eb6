"""``fallbook serve`` and ``fallbook demo``."""

from pathlib import Path
from typing import Any

import click

from ... import paths
from ...intake.jobs import take_job
from ...intake.open_job import open_job
from ...messages import t
from ...store.user_folders import demo_folder
from ...web.state import state_of
from .listening import access_of, check, run
from .opening import opened
from .where import Where


def serve(data: Path | None, **options: Any) -> None:
    """Start the server on a data folder; ``options`` are those of ``Where``."""
    where = Where(**options)
    check(where)
    with opened(data, **access_of(where)) as app:
        run(app, where)


def demo(data: Path | None, **options: Any) -> None:
    """Serve the sample jobs, from a folder of their own; ``options`` are those of ``Where``."""
    where = Where(**options, is_demo=True)
    check(where)
    with opened(data or demo_folder(), **access_of(where)) as app:
        for folder in sorted(p.parent for p in paths.SAMPLE_JOBS.glob("*/job.json")):
            with open_job(folder) as (job, photo_bytes):
                take_job(job, photo_bytes, state_of(app).photos)
            click.echo(t("cli.serve.sample_loaded", name=folder.name))
        run(app, where)
