"""One long-lived Node process that runs functions of static/js/ for comparison with Python."""

import json
import math
import re
import shutil
import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent


def node() -> str:
    """Return the path of Node: the one that came with pip first, then the machine's own."""
    beside = Path(sys.executable).parent / "node"
    found = str(beside) if beside.exists() else shutil.which("node")
    assert found, "no Node: install the test extra (pip install -e '.[test]')"
    return found


def camel(name: str) -> str:
    """Return ``snake_case`` as ``camelCase``."""
    return re.sub(r"_([a-z0-9])", lambda m: m[1].upper(), name)


def carried(value: object) -> object:
    """Return a value with NaN and infinities in a form that JSON carries."""
    if isinstance(value, float) and not math.isfinite(value):
        return {"$number": {math.inf: "Infinity", -math.inf: "-Infinity"}.get(value, "NaN")}
    if isinstance(value, dict):
        return {key: carried(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [carried(one) for one in value]
    return value


class TwinError(Exception):
    """What the JavaScript side threw."""

    def __init__(self, code: str | None, field: str | None, index: int | None, message: str):
        self.code, self.field, self.index = code, field, index
        super().__init__(message)


class Twin:
    """Calls into static/js/: ``Twin().call("survey/instruments/gradient", "gradient_of", 1.0)``."""

    def __init__(self) -> None:
        self.process = subprocess.Popen(
            [node(), str(HERE / "js" / "twin_server.mjs")],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            encoding="utf-8",
        )

    def ask(self, question: object) -> object:
        """Send one line and return the answer to it."""
        try:
            line = json.dumps(question, allow_nan=False)
        except ValueError:
            line = json.dumps(carried(question), allow_nan=False)
        self.process.stdin.write(line + "\n")
        self.process.stdin.flush()
        return json.loads(self.process.stdout.readline())

    def call(self, module: str, name: str, *args: object) -> object:
        """Run the twin of a Python function; raise TwinError if it throws."""
        (answer,) = self.ask([[module, camel(name), args]])
        if "error" in answer:
            raise TwinError(**answer["error"])
        return answer["ok"]

    def keep(self, value: object) -> dict[str, int]:
        """Send a table once; what is returned stands for it among the arguments of ``batch``."""
        return self.ask({"keep": value})

    def batch(
        self, calls: list[tuple[str, str, tuple]], kept: dict[int, object]
    ) -> list[tuple[object, TwinError | None]]:
        """Run many calls at once; for each (answer, None) or (None, error)."""

        def spelled(arg: object) -> object:
            if id(arg) in kept:
                return kept[id(arg)]
            if type(arg) is dict and not kept.keys().isdisjoint(map(id, arg.values())):
                return {name: kept.get(id(one), one) for name, one in arg.items()}
            return arg

        lines = [[m, camel(name), [spelled(one) for one in args]] for m, name, args in calls]
        answers = self.ask(lines)
        return [(None, TwinError(**one["error"])) if "error" in one else (one["ok"], None) for one in answers]

    def close(self) -> None:
        """End the process."""
        self.process.stdin.close()
        self.process.wait(10)
        self.process.stdout.close()
