"""``fallbook pack`` and ``fallbook verify``."""

from pathlib import Path

from ... import job_pack
from ...errors import AppError
from ...intake.read_pack import prove, refuse
from ...messages import t
from ..output import Progress, counted, note, say, show_json
from . import infile, outfile
from .job_source import job_source, note_unsound


def pack(job: str, out: Path, force: bool, quiet: bool, data: Path | None) -> None:
    """Make a job pack."""
    outfile.check_out(out, force=force)

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


def verify(file: Path, as_json: bool, quiet: bool) -> None:
    """Prove that a job pack is whole."""
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
