"""``fallbook selfcheck --coverage``: what became of simulated surveys, as lines and tables."""

from collections.abc import Sequence
from dataclasses import asdict

from ...messages import listed, t
from ...selfcheck.coverage import coverage
from ...selfcheck.coverage_share import Share
from ...selfcheck.level_cells.result import SLIPS, CellResult
from ...selfcheck.level_cells.run import KINDS, cell_results
from ..output import say, show_json, table

LEVELS = (
    "cell", "inside", "error", "rms", "width", "simple_inside", "simple_rms", "said", "false_bounds",
    "limits",
)  # fmt: skip
WRONG = ("cell", *SLIPS, "fits", "said", "limits")


def cover(surveys: int, only: Sequence[str], jobs: int, as_json: bool) -> int:
    """Print what became of so many surveys of each kind; 1 if a limit is not met."""
    wanted = only or ("shares", *KINDS)
    shares = coverage(surveys) if "shares" in wanted else []
    cells = {kind: cell_results(kind, surveys, jobs) for kind in KINDS if kind in wanted}
    if as_json:
        rows = [{**asdict(one), "ok": one.ok} for one in shares]
        rows += [
            {"kind": kind, **asdict(one), "ok": one.ok} for kind, (found, _) in cells.items() for one in found
        ]
        show_json(rows)
    else:
        for share in shares:
            _print_share(share)
        for kind, (found, spent) in cells.items():
            _print_cells(kind, found)
            say(t("cli.selfcheck.cells.spent", surveys=f"{surveys:,}", seconds=f"{1000 * spent:.1f}"))
    met = all(one.ok for one in shares) and all(one.ok for found, _ in cells.values() for one in found)
    return 0 if met else 1


def _print_share(one: Share) -> None:
    """Print how often the truth lay inside."""
    bounds = (
        t("cli.selfcheck.asked", least=f"{one.least:.0%}", most=f"{one.most:.0%}")
        if one.least < one.most
        else t("cli.selfcheck.asked_all")
    )
    if one.broken:
        bounds = t("cli.selfcheck.broken")
    mark = "-- " if one.broken else "ok " if one.ok else "BAD"
    say(f"{mark} {one.what}: {one.share:.2%} of {one.count:,} ({bounds})")


def _print_cells(kind: str, found: Sequence[CellResult]) -> None:
    names, cells = (LEVELS, _levels) if kind == "levels" else (WRONG, _wrong)
    header = [t(f"cli.selfcheck.cells.{name}") for name in names]
    for line in table(header, [cells(one) for one in found], range(1, len(names) - 1)):
        say(line)


def _levels(one: CellResult) -> list[str]:
    return [
        one.what, _share(one.inside), _share(one.inside_se), _mm(one.rms_mm), _mm(one.width_mm),
        _share(one.simple_inside), _mm(one.simple_rms_mm), _share(one.said), _share(one.false_bounds),
        _limits(one),
    ]  # fmt: skip


def _wrong(one: CellResult) -> list[str]:
    named = [_share(one.slip.get(what)) for what in SLIPS]
    return [one.what, *named, _share(one.fits), _share(one.said), _limits(one)]


def _limits(one: CellResult) -> str:
    if one.ok:
        return t("cli.selfcheck.ok")
    return t("cli.selfcheck.cells.missed", what=listed([t(f"cli.selfcheck.missed.{m}") for m in one.missed]))


def _share(value: float | None) -> str:
    return "" if value is None else f"{value:.3f}"


def _mm(value: float | None) -> str:
    return "" if value is None else f"{value:.1f}"
