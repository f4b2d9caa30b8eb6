"""``fallbook pack`` and ``fallbook verify``."""

from pathlib import Path

import click

from ..errors import AppError
from ..messages import t
from . import infile, outfile
from .common import counted, data_option, json_option, note_unsound, quiet_option
from .job_source import job_source
from .jobs_here import JobOrFile
from .output import Progress, note, say, show_json


@click.command()
@click.argument("job", type=JobOrFile())
@click.option(
    "-o",
    "--out",
    required=True,
    type=click.Path(path_type=Path, allow_dash=True),
    help="The zip to write; - is standard output.",
)
@click.option("--force", is_flag=True, help="Replace the zip if it is there.")
@quiet_option
@data_option
def pack(job: str, out: Path, force: bool, quiet: bool, data: Path | None) -> None:
    """Make a job pack: report, drawings, tables, photos and a manifest in one zip.

    JOB is a job file, a folder that holds job.json and photos/, a pack, - for standard input, or a job in the
    data folder: its title, its reference, the beginning of its id.  The same job gives the same bytes.  What
    is wrong with the records is told in one line; fallbook check tells each.

    \b
    Example: fallbook pack sample_jobs/school_foul_drain -o school.zip
             fallbook pack "School foul drain" -o - | ssh office 'cat > school.zip'
    """
    outfile.check_out(out, force=force)
    from .. import job_pack

    with (
        job_source(job, data) as (found, photo_bytes),
        outfile.written(out, force=force) as file,
        Progress(quiet) as tell,
    ):
        manifest = job_pack.build(
            found,
            photo_bytes,
            file,
            lambda n, of, step: tell(t("cli.pack.progress", number=n, of=of, step=step)),
        )
    if quiet:
        return
    note_unsound(found)
    if missing := manifest["photos_left_out"]:
        note(t("cli.pack.photos_left_out", photos=counted(len(missing), "photo")))
    if not outfile.is_stdout(out):
        say(t("cli.pack.written", out=out, bytes=f"{out.stat().st_size:,}"))


@click.command()
@click.argument("file", metavar="PACK", type=click.Path(path_type=Path, allow_dash=True))
@json_option
@quiet_option
def verify(file: Path, as_json: bool, quiet: bool) -> None:
    """Prove that a job pack is whole: every file is there and has the hash that the manifest states.

    PACK may be - for standard input.  Exit code 1 and one line that names the faults if it is not.

    \b
    Example: fallbook verify school.zip
    """
    from ..intake.read_pack import prove, refuse

    if not infile.is_stdin(file) and not file.exists():
        raise AppError("file_unreadable", f"({file})")
    with infile.as_file(file) as path:
        if path.is_dir():
            raise AppError("file_unreadable", t("cli.pack.is_folder", file=file))
        manifest, faults = prove(path)
    if as_json:
        about = {name: manifest.get(name) for name in ("job_id", "title", "files", "photos_left_out")}
        show_json({"ok": not faults, "faults": faults, **about})
    refuse(faults)
    if not quiet and not as_json:
        say(t("cli.pack.whole", file=infile.shown(file), files=counted(len(manifest["files"]), "file")))
