"""Lines of page one: how many there may be, and whose they are."""

from ..report_model.run import Run
from ..survey.wording.messages import Words, message

MAX_CARDS, MAX_RUNS, MAX_FINDINGS, MAX_LINES = 3, 8, 8, 6


MAX_REF = 24


def short(ref: str) -> str:
    """Return a reference that leaves room for the rest of a line."""
    return ref if len(ref) <= MAX_REF else f"{ref[: MAX_REF - 1]}…"


def of_run(words: Words, run: Run, line: str) -> str:
    """A sentence under the name of its run."""
    return message(words, "pack.one.in_run", {"run": short(run.ref), "line": line})


def most_of(words: Words, lines: list[str], most: int = MAX_LINES) -> list[str]:
    """Return as many lines as page one takes, and how many more there are."""
    if len(lines) <= most:
        return lines
    return [*lines[:most], message(words, "pack.one.more", {"n": len(lines) - most})]
