"""What a cell of the coverage is: how a pipe lies, how it is read, what is wrong with the instrument."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Pipe:
    """How the pipe of a cell truly lies.

    ``pipe_m``: length of its pipes, any of those usual where None [m]; ``law``: how their angles are drawn,
    ``normal``, ``student3``, ``settled`` (a stretch laid well, then one that has settled) or ``smooth`` (no
    pipes at all). ``spread_deg`` about a mean fall. ``cut``: the first pipe is shorter, so that no joint lies
    where the pipes' length alone would put it. ``steep``: one pipe beyond the range of the instrument.
    """

    law: str = "normal"
    spread_deg: float = 0.5
    pipe_m: float | None = None
    recorded: bool = True
    cut: bool = False
    steep: bool = False


@dataclass(frozen=True)
class Meter:
    """How the inclinometer truly errs.

    ``times``: its noise over what is stated; ``alike``: correlation from reading to reading; ``debris``: how
    often in 100 something lies under the tracks; ``step_deg``: the display is rounded to so much;
    ``crawler_m``: between which its length lies; ``drift_deg``: how far its zero moves during the drive;
    ``checked_after``: it was read both ways after the drive too.
    """

    times: float = 1.0
    alike: float = 0.0
    debris: float = 0.0
    step_deg: float = 0.01
    crawler_m: tuple[float, float] | None = None
    drift_deg: float = 0.0
    checked_after: bool = False


@dataclass(frozen=True)
class Cell:
    """One way in which surveys are simulated.

    ``reads``: ``each`` pipe once, ``several`` in each, ``unread`` (15 % of the pipes not), ``irregular``,
    ``sparse`` (one in 2 to 3 pipes), ``even`` (every 5 m), ``close`` (about every metre). ``ties``: how many
    levels, the first at the start, the last at the end. ``alarms``: nothing is wrong with the instrument; in
    how many of the surveys something may be said all the same. ``wrong_by``: one of the levels is out by so
    many of its standard deviations.
    """

    name: str
    reads: str = "each"
    ties: int = 2
    pipe: Pipe = Pipe()
    meter: Meter = Meter()
    alarms: float | None = None
    wrong_by: float = 0.0
