"""``fallbook figures``."""

from collections.abc import Iterable
from dataclasses import asdict
from pathlib import Path

from ...assembly.job import assemble
from ...messages import t
from ...pack.condition_tables import condition_sections
from ...pack.figure_tables import sections
from ...pack.figure_words import known_text, rise_text
from ...pack.length_text import length_section
from ...pack.not_closed import not_closed_lines
from ...pack.sight_section import sight_section
from ...pack.texts import counter_in_file, counter_resets
from ...report_model.contents import PackContents
from ...report_model.plain_values import plain_values
from ...report_model.run import Photo, Run
from ...report_model.section import Section
from ...survey.wording.messages import Words, message
from ...survey.wording.quantities import place_text
from ..output import say, show_json
from .job_source import job_source, note_unsound


def figures(job: str, as_json: bool, data: Path | None) -> None:
    """Print every computed figure of a job."""
    with job_source(job, data) as (whole, _):
        contents = assemble(whole)
    note_unsound(whole)
    if as_json:
        show_json(plain_values(figures_value(contents)))
    else:
        say("\n".join(figure_lines(contents)))


def figures_value(contents: PackContents) -> dict[str, object]:
    """Return every figure of a job as ``--json`` prints it."""
    return {
        "format": "fallbook-figures",
        "version": 1,
        "job_id": contents.job_id,
        "title": contents.title,
        "level_datum": contents.level_datum,
        "runs": [_plain_run(contents.words, run) for run in contents.runs],
        "not_closed_on_site": [asdict(one) for one in contents.not_closed.items],
    }


def _plain_run(words: Words, run: Run) -> dict[str, object]:
    level_of = message(words, "pack.level_of")
    return {
        "run_id": run.record_id,
        "run_ref": run.ref,
        "counter_zero_m": run.counter_zero_m,
        "counter_zero_known": run.zero_known,
        "counter_resets": [asdict(reset) for reset in run.counter_resets],
        "surveyed_m": run.surveyed_m,
        "surveyed_known": run.surveyed_known,
        "expected_m": run.expected_m,
        "remaining_m": run.remaining_m,
        "sight": asdict(run.sight),
        "length": _plain_length(run),
        "stretches": [asdict(stretch) for stretch in run.stretches],
        "readings": [
            {"record_id": r.record_id, "counter_m": r.counter_m,
             "counter_in_file": counter_in_file(words, r) or None, "chainage_m": r.chainage_m, "deg": r.deg,
             "over": r.over, "recorded_in_run": r.run_ref or run.ref,
             "level": asdict(r.level) if r.level else None}
            for r in run.readings
        ],
        "observations": [
            {"record_id": o.record_id, "code": o.compact, "counter_m": o.counter_m,
             "chainage_m": o.chainage_m, "finish_m": o.finish_m, "part_of": o.part_of, "disputed": o.disputed,
             "recorded_in_run": o.run_ref or run.ref, "same_as": o.same_as,
             "level": asdict(o.level) if o.level else None, "level_of": level_of if o.level else None,
             "photos": [_plain_photo(p) for p in o.photos]}
            for o in run.observations
        ],
        "photos": [_plain_photo(p) for p in run.photos],
        **{("choke" if k == "bottleneck" else k): v for k, v in _plain_figures(run).items()},
        "condition": asdict(run.condition) if run.condition else None,
        "findings": [{"severity": s, "sentence": line} for s, line in run.findings],
    }  # fmt: skip


def _plain_figures(run: Run) -> dict[str, object]:
    """The figures; of a trace the grid convergence only where one turned its bearing."""
    plain = asdict(run.figures)
    if plain["trace"] and plain["trace"]["convergence"] is None:
        del plain["trace"]["convergence"]
    return plain


def _plain_photo(photo: Photo) -> dict[str, object]:
    return {
        "record_id": photo.record_id, "filename": photo.filename, "chainage_m": photo.chainage_m,
        "taken_at": photo.taken_at, "caption": photo.caption,
    }  # fmt: skip


def _plain_length(run: Run) -> dict[str, object] | None:
    if run.length is None:
        return None
    return {name: value for name, value in asdict(run.length).items() if name != "words_of_join"}


def figure_lines(contents: PackContents) -> Iterable[str]:
    """Return every figure of a job in lines, as they are printed for people."""
    words = contents.words
    yield contents.title
    if contents.level_datum:
        yield t("cli.figures.datum", level_datum=contents.level_datum)
    if not contents.runs:
        yield t("cli.figures.no_run")
    for run in contents.runs:
        title = t("cli.figures.run", ref=run.ref)
        yield from ("", title, "=" * len(title))
        yield from _head(words, run)
        tables = [length_section(words, run), sight_section(words, run)]
        for section in (*tables, *sections(words, run), *condition_sections(words, run)):
            yield from _section(section)
        if run.findings:
            yield from ("", t("cli.figures.unlikely"))
            yield from (f"  - {line}" for _, line in run.findings)
    yield from ("", *not_closed_lines(contents))


def _head(words: Words, run: Run) -> Iterable[str]:
    if run.surveyed_m is not None:
        yield t(
            "cli.figures.surveyed", surveyed_m=place_text(words, run.surveyed_m), known=run.surveyed_known
        )
    if resets := counter_resets(words, run):
        yield t("cli.figures.reset", resets=resets)
    if run.remaining_m is not None:
        yield t("cli.figures.not_surveyed", remaining_m=place_text(words, run.remaining_m))
    rise = run.figures.rise
    yield (
        t("cli.figures.invert_known", rise=rise_text(words, rise), known=known_text(words, rise.known))
        if rise
        else t("cli.figures.invert", rise=rise_text(words, rise))
    )
    if run.figures.far_check is not None:
        check = run.figures.far_check
        off = {
            "off_m": place_text(words, check.difference_m),
            "allowed_m": place_text(words, check.allowed_m),
        }
        yield t("cli.figures.far_node_beyond" if check.flagged else "cli.figures.far_node", **off)


def _section(section: Section) -> Iterable[str]:
    if not section.rows and not section.lines:
        return
    yield from ("", section.title)
    yield from (f"  - {words}" for words in section.lines)
    if section.rows:
        yield from _table(section)
    if section.note:
        yield f"  ({section.note})"


def _table(section: Section) -> Iterable[str]:
    rows = [section.header, *section.rows]
    widths = [max(len(row[k]) for row in rows) for k in range(len(section.header))]

    def line(row: tuple[str, ...]) -> str:
        cells = (
            cell.rjust(width) if k in section.right else cell.ljust(width)
            for k, (cell, width) in enumerate(zip(row, widths, strict=True))
        )
        return f"  {'  '.join(cells)}".rstrip()

    yield line(section.header)
    yield "  " + "  ".join("-" * width for width in widths)
    yield from (line(row) for row in section.rows)
