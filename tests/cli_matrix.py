"""Every command with every kind of bad input: what is called, and what came of it.

``python3 tests/cli_matrix.py`` prints the table of commands and inputs.
"""

import contextlib
import os
import shutil
import time
from collections import Counter

from cli_ground import NAMES, SPECS, Ground, ground, held, pipe_of


class Cells:
    """The calls of one command, one a column; each returns what came of it, or None where it has none.

    Calls that go well, and those whose streams fail, run to the very end of the process.
    """

    def __init__(self, ground: Ground, name: str) -> None:
        self.ground, self.name, self.spec = ground, name, SPECS[name]
        self.bad, self.run = ground.folder / "bad", ground.runner.run

    def any_form(self) -> tuple:
        spec = self.spec
        return spec.plain or spec.reads or spec.data or spec.writes

    def call(self, form: tuple, **own):
        if not form:
            return None
        streams = {k: own.pop(k) for k in ("stdin", "stdout", "stderr", "env", "to_the_end") if k in own}
        words = self.ground.words(self.spec, form, **own)
        # One that cannot say that it listens is stopped somewhere on its way there, as with Ctrl-C.
        return self.stopped(self.ground.runner.start(words, **streams), 1 if "stdout" in streams else 30)

    def stopped(self, call, after_s=30):
        """A server that has started, or that says nothing for a while, is stopped as with Ctrl-C."""
        end = time.monotonic() + after_s
        while self.spec.serves and not call.over():
            if "Stop with" in call.output() or time.monotonic() > end:
                time.sleep(0.3)  # until it listens for that too
                call.interrupt()
                break
            time.sleep(0.02)
        return call.result()

    # the call itself

    def good(self):
        return self.call(self.any_form())

    def on_a_file(self):
        return self.call(self.spec.reads)

    def help(self):
        return self.run([*self.name.split(), "--help"], to_the_end=False)

    def option_unknown(self):
        return self.run([*self.name.split(), "--nope"], to_the_end=False)

    def word_too_many(self):
        words = [*self.ground.words(self.spec, self.any_form()), "--", "a", "b", "c"]
        return self.run(words, to_the_end=False)

    # what is read

    def reads(self, path, **more):
        return (
            self.call(self.spec.reads, **{"in": path, "to_the_end": False} | more)
            if self.spec.reads
            else None
        )

    def in_missing(self):
        return self.reads(self.bad / "none" / "none.json")

    def in_empty(self):
        return self.reads(self.bad / "empty")

    def in_wrong_kind(self):
        return self.reads(self.bad / "picture")

    def in_other_json(self):
        return self.reads(self.bad / "other.json")

    def in_not_utf8(self):
        return self.reads(self.bad / "not_utf8.json")

    def in_half_json(self):
        return self.reads(self.bad / "half.json")

    def in_half_zip(self):
        return self.reads(self.bad / "half.zip")

    def in_too_deep(self):
        return self.reads(self.bad / "deep.json")

    def in_huge(self):
        return self.reads(self.bad / "huge.json")

    def in_folder(self):
        return self.reads(self.bad / "folder")

    def in_unreadable(self):
        return self.reads(self.bad / "unreadable")

    def in_device(self):
        return self.reads("/dev/zero")

    def in_name_not_utf8(self):
        return self.reads(f"{self.bad}/none\udcff.json")

    def dashed(self, stdin):
        return self.reads("-", stdin=stdin) if self.spec.dash else None

    def stdin_good(self):
        good = self.ground.folder / "good" / self.spec.good
        return self.dashed(good) if good.is_file() else None

    def stdin_empty(self):
        return self.dashed(os.devnull)

    def stdin_closed(self):
        return self.dashed(None)

    def piped(self):
        good = self.ground.folder / "good" / self.spec.good
        if not self.spec.reads or not good.is_file():
            return None
        with pipe_of(self.ground.folder / "here", good.read_bytes()) as path:
            return self.reads(path)

    def pipe_cut(self):
        if not self.spec.reads or not self.spec.dash:
            return None
        data = (self.ground.folder / "good" / self.spec.good).read_bytes()
        with pipe_of(self.ground.folder / "here", data[: len(data) // 2]) as path:
            return self.reads(path)

    # the data folder

    def on_data(self, path):
        return self.call(self.spec.data, data=path, to_the_end=False) if "{data}" in self.spec.data else None

    def data_good(self):
        return self.call(self.spec.data)

    def data_missing(self):
        target = self.ground.new("typo")
        done = self.on_data(target)
        assert done is None or self.spec.makes or not target.exists(), "a mistyped folder was made"
        return done

    def data_empty(self):
        return self.on_data(self.bad / "empty_data") if not self.spec.makes else None

    def data_is_a_file(self):
        return self.on_data(self.bad / "empty")

    def data_below_a_file(self):
        return self.on_data(self.bad / "empty" / "data")

    def data_damaged(self):
        return self.on_data(self.copy_of("damaged"))

    def data_not_whole(self):
        return self.on_data(self.copy_of("not_whole"))

    def data_unreadable(self):
        return self.on_data(self.bad / "unreadable_data")

    def data_only_to_read(self):
        target = self.ground.data()
        for one in (*target.rglob("*"), target):
            one.chmod(0o555 if one.is_dir() else 0o444)
        return self.on_data(target)

    def begin_on(self, target):
        """Start the call on a data folder, to be waited for with others."""
        return self.ground.runner.start(self.ground.words(self.spec, self.spec.data, data=target))

    def copy_of(self, name):
        target = self.ground.new(name)
        shutil.copytree(self.bad / name, target)
        return target

    # what is written

    def writes(self, out, to_the_end=False):
        return self.call(self.spec.writes, out=out, to_the_end=to_the_end) if self.spec.writes else None

    def out_new(self):
        return self.writes(self.ground.new("new"), to_the_end=True)

    def out_there(self):
        target = self.ground.new("there")
        target.write_text("mine")
        done = self.writes(target)
        assert done is None or target.read_text() == "mine", "a file was replaced unasked"
        return done

    def out_folder(self):
        target = self.ground.new("folder")
        (target / "mine").mkdir(parents=True)
        return self.writes(target)

    def out_nowhere(self):
        return self.writes(self.bad / "empty" / "x")

    def out_only_to_read(self):
        target = self.ground.new("folder")
        target.mkdir()
        target.chmod(0o555)
        done = self.writes(target / "x.zip")
        assert done is None or done.code
        return done

    def out_full(self):
        return self.writes("/dev/full")

    def stdout_full(self):
        return self.call(self.any_form(), stdout="/dev/full")

    def stdout_closed(self):
        return self.call(self.any_form(), stdout=None)

    def reader_gone(self):
        """The reader of its output leaves before anything has come, as the end of `| head` does."""
        path = self.ground.folder / "here" / f"gone{id(self)}"
        os.mkfifo(path)
        reader = os.open(path, os.O_RDONLY | os.O_NONBLOCK)
        try:
            words = self.ground.words(self.spec, self.any_form())
            call = self.ground.runner.start(words, stdout=path)
            os.close(reader)
            return self.stopped(call, 1)
        finally:
            path.unlink()

    def all_full(self):
        return self.call(self.any_form(), stdout="/dev/full", stderr="/dev/full")

    # stopped on the way

    def interrupted(self):
        """Ctrl-C while it waits for its input, or somewhere on the way."""
        if self.spec.reads and self.spec.dash:
            path = self.ground.folder / "here" / f"waits{id(self)}"
            os.mkfifo(path, 0o666)
            os.chmod(path, 0o666)
            writer = os.open(path, os.O_RDWR)
            words = self.ground.words(self.spec, self.spec.reads, **{"in": "-"})
            call = self.ground.runner.start(words, stdin=path)
            time.sleep(0.5)
        else:
            writer = path = None
            call = self.ground.runner.start(self.ground.words(self.spec, self.any_form()))
            time.sleep(0.03)
        call.interrupt()
        done = call.result()
        if writer is not None:
            os.close(writer)
            path.unlink()
        return done


OWN = {"any_form", "call", "stopped", "reads", "dashed", "on_data", "copy_of", "writes", "begin_on"}
COLUMNS = [name for name in vars(Cells) if not name.startswith("_") and name not in OWN]


def all_held(ground: Ground) -> dict:
    """Call every command on a data folder that another process holds, all at once: each waits for a while."""
    names = [name for name in NAMES if "{data}" in SPECS[name].data]
    with contextlib.ExitStack() as stack:
        begun = {}
        for name in names:
            target = ground.data()
            stack.enter_context(held(target / "fallbook.sqlite"))
            begun[name] = Cells(ground, name).begin_on(target)
        return {name: call.result(120) for name, call in begun.items()}


GROUPS = {
    "called well": ("good", "on_a_file", "stdin_good", "piped", "data_good", "out_new", "help"),
    "called wrongly": ("option_unknown", "word_too_many"),
    "file missing, empty, wrong, cut": (
        "in_missing", "in_empty", "in_wrong_kind", "in_other_json", "in_not_utf8", "in_half_json",
        "in_half_zip", "in_too_deep", "in_folder", "in_name_not_utf8", "stdin_empty", "stdin_closed",
        "pipe_cut",
    ),
    "file huge, endless, unreadable": ("in_huge", "in_device", "in_unreadable"),
    "data folder missing, empty, a file, damaged, unreadable": (
        "data_missing", "data_empty", "data_is_a_file", "data_below_a_file", "data_damaged", "data_not_whole",
        "data_unreadable",
    ),
    "data folder only to read": ("data_only_to_read",),
    "data folder held": ("data_held",),
    "output there, a folder, nowhere, only to read, full": (
        "out_there", "out_folder", "out_nowhere", "out_only_to_read", "out_full",
    ),
    "standard output full, closed, its reader gone": (
        "stdout_full", "stdout_closed", "reader_gone", "all_full",
    ),
    "Ctrl-C": ("interrupted",),
}  # fmt: skip


def main() -> None:
    """Print the table: how many calls of each group ended with which exit code."""
    print("| command | " + " | ".join(GROUPS) + " |\n" + "|---" * (len(GROUPS) + 1) + "|")
    with ground() as place:
        busy = all_held(place)
        for name in NAMES:
            cells = Cells(place, name)
            found = {column: getattr(cells, column)() for column in COLUMNS} | {"data_held": busy.get(name)}
            reported = []
            for columns in GROUPS.values():
                codes = Counter(found[column].code for column in columns if found[column] is not None)
                reported.append(
                    ", ".join(f"{code}" + (f" x{n}" if n > 1 else "") for code, n in sorted(codes.items()))
                )
            print(f"| {name} | " + " | ".join(reported) + " |", flush=True)


if __name__ == "__main__":
    main()
