"""``fallbook sample``."""

import shutil
from pathlib import Path

import click

from .. import jobfile, paths
from ..errors import AppError


@click.command()
@click.argument("name", required=False)
@click.option(
    "-o", "--out", type=click.Path(file_okay=False, path_type=Path), help="The folder to write it into."
)
@click.option("--list", "list_only", is_flag=True, help="List the sample jobs.")
def sample(name: str | None, out: Path | None, list_only: bool) -> None:
    """List the sample jobs, or write one out as a job file with its photos.

    All of them are invented: sites, names and pictures.

    \b
    Example: fallbook sample school_foul_drain -o school
    """
    found = {p.parent.name: p.parent for p in sorted(paths.SAMPLE_JOBS.glob("*/job.json"))}
    if list_only or name is None:
        for title, folder in found.items():
            click.echo(f"{title:24} {_title(folder)}")
        return
    if name not in found:
        raise AppError("sample_unknown", f"There are: {', '.join(found)}.")
    target = out or Path(name)
    if target.exists() and any(target.iterdir()):
        raise AppError("destination_exists", f"({target} is not empty)")
    shutil.copytree(found[name], target, dirs_exist_ok=True)
    click.echo(f"{target / 'job.json'}")


def _title(folder: Path) -> str:
    job = jobfile.read((folder / "job.json").read_bytes())
    return next((str(r.fields.get("title", "")) for r in job.records if r.kind == "job"), "")
