"""The condition of a run as the pack prints it: classes with their causes, what to do next."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Class:
    """The class of one goal: 0 where nothing was graded; equal ends where it is settled.

    ``cause`` names the observation behind it; ``basis`` whose limits they are; ``steps`` how it came about;
    ``blind``: part of it could not be seen; ``number``: the last line of ``steps``, in points.
    """

    goal: str
    label: str
    low: int
    high: int
    words: str
    cause: str = ""
    basis: str = ""
    steps: tuple[str, ...] = ()
    blind: bool = False
    number: str = ""


@dataclass(frozen=True)
class Action:
    """A suggested action; ``sure`` False where it only may be needed."""

    action: str
    urgency: str
    words: str
    sure: bool
    reasons: tuple[str, ...]


@dataclass(frozen=True)
class Part:
    """A stretch, or what lies outside all of them: its classes, the suggestion, the surveyor's version."""

    record_id: str
    title: str
    from_m: float | None
    to_m: float | None
    classes: tuple[Class, ...]
    forbidden: tuple[str, ...]  # what must not be done there, and why
    suggested: tuple[Action, ...]
    waiting: tuple[Action, ...]  # what waits until the hazard is settled
    chosen: tuple[str, ...]


@dataclass(frozen=True)
class GradedClass:
    """One observation (or a length of it within one stretch) and one goal; numbers are points."""

    record_id: str
    code: str
    what: str
    from_m: float | None
    to_m: float | None
    length_m: float | None
    length_known: str
    goal: str
    low: int
    high: int
    known: str
    basis: str
    review: bool
    left_low_pct: float | None
    left_high_pct: float | None
    number_low: float
    number_high: float
    bound_low: float
    bound_high: float
    why: str


@dataclass(frozen=True)
class Condition:
    """The preliminary condition of a run. ``immediate``: condition, observation, source."""

    scheme: str
    immediate: tuple[tuple[str, str, str], ...]
    classes: tuple[Class, ...]
    number_lines: tuple[str, ...]
    parts: tuple[Part, ...]
    graded: tuple[GradedClass, ...]
    ungraded: tuple[str, ...]
    missing: str  # inputs of the extra points that are not recorded, in words
    suggestions: str  # name of the table of actions
