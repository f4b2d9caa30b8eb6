"""What every test process of a run would work out alike: the first one does, the others read its answers."""

import contextlib
import pickle
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import portalocker

Answers = dict[tuple[Any, ...], Any]
MAX_WAIT_S = 120  # for the one that works it out, on a machine with other things to do


def remembered(function: Callable[..., Any], answers: Answers) -> Callable[..., Any]:
    """Return a function that works out nothing that is among the answers, and adds what it worked out."""

    def answer(*given: Any) -> Any:
        key = (function.__name__, *given)
        if key not in answers:
            answers[key] = function(*given)
        return answers[key]

    return answer


@contextlib.contextmanager
def answers_in(path: Path | None) -> Iterator[Answers]:
    """Give the answers of a file, empty for the first process, which writes there what it has found.

    Whoever comes meanwhile waits for it.  Without a file the answers are one process's own.
    """
    if path is None:
        yield {}
        return
    with portalocker.Lock(path, "a+b", timeout=MAX_WAIT_S) as file:
        file.seek(0)
        held = file.read()
        answers: Answers = pickle.loads(held) if held else {}
        yield answers
        if not held:
            file.write(pickle.dumps(answers))
