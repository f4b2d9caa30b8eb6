"""Modules in the order in which they depend on each other, each a function of its own in one script."""

import functools
import json
import posixpath
from pathlib import Path

from ...errors import AppError
from .lexer import Refused, tokens
from .modules import RESERVED, Import, Module, read_module
from .strip import written

FileState = tuple[Path, int, int]


def functions(root: Path, entry: str) -> dict[str, str]:
    """Return every module that ``entry`` needs, itself last, each as a function called at once, by its path.

    A module's names stay its own.  What it gives out cannot change later, and modules cannot need each other
    in a circle: both are refused, with file and line.
    """
    return {path: _function(path, module) for path, module in _Graph(root).from_entry(entry).items()}


def needed(root: Path, path: str) -> list[str]:
    """Return the modules that one module imports itself."""
    return _Graph(root).needed(path)


def joined(*parts: str) -> str:
    """Return a script of modules and of text between; in it ``module(path)`` gives what a module exports."""
    opening = f"'use strict';\n(()=>{{\nconst {RESERVED}=Object.create(null);\n"
    return f"{opening}const module=(path)=>{RESERVED}[path];\n{''.join(parts)}}})();\n"


def joined_later(address: str, *parts: str) -> str:
    """Return a second part for the script at an address: to any other script it adds nothing."""
    return f"'use strict';\nfallbook.join({json.dumps(address)},({RESERVED})=>{{\n{''.join(parts)}}});\n"


def joins() -> str:
    """Return the function by which the first script takes a second part that was made for it."""
    return (
        "const address=document.currentScript?.getAttribute('src');\n"
        f"const join=(of,make)=>{{if(of===address)make({RESERVED});}};\n"
    )


def stripped(path: Path) -> str:
    """Return a plain script without comments and indentation."""
    try:
        return written(tokens(path.read_text(encoding="utf-8")))
    except Refused as error:
        raise refusal(path, error.line, error.sentence) from error


def refusal(path: Path, line: int, sentence: str) -> AppError:
    """Return the error that names file and line."""
    return AppError("module_not_joined", f"{path}:{line}: {sentence}.")


def file_state(path: Path) -> FileState:
    """Return what changes when a file does."""
    found = path.stat()
    return path, found.st_mtime_ns, found.st_size


@functools.lru_cache(maxsize=1024)
def _module(state: FileState) -> Module:
    path = state[0]
    try:
        return read_module(path.read_text(encoding="utf-8"))
    except Refused as error:
        raise refusal(path, error.line, error.sentence) from error


class _Graph:
    def __init__(self, root: Path):
        self.root = root
        self.done: dict[str, Module] = {}  # in order: what is needed stands first
        self.open: list[str] = []

    def from_entry(self, entry: str) -> dict[str, Module]:
        self._visit(entry)
        return self.done

    def needed(self, path: str) -> list[str]:
        return [self._resolve(path, one) for one in _module(file_state(self.root / path)).imports]

    def _visit(self, path: str) -> None:
        module = _module(file_state(self.root / path))
        self.open.append(path)
        for one in module.imports:
            one_path = self._resolve(path, one)
            if one_path in self.open:
                circle = " -> ".join([*self.open[self.open.index(one_path) :], one_path])
                raise refusal(self.root / path, one.line, f"modules need each other in a circle, {circle}")
            if one_path not in self.done:
                self._visit(one_path)
            given = {out for out, _ in self.done[one_path].exports}
            if lacking := [name for name, _ in one.names if name not in given]:
                raise refusal(self.root / path, one.line, f"{one_path} does not export {', '.join(lacking)}")
        self.open.pop()
        self.done[path] = module

    def _resolve(self, path: str, one: Import) -> str:
        if not one.path.startswith(("./", "../")) or not one.path.endswith(".js"):
            raise refusal(self.root / path, one.line, f"{one.path} is no path of a module of ours")
        found = posixpath.normpath(posixpath.join(posixpath.dirname(path), one.path))
        if found.startswith("../") or not (self.root / found).is_file():
            raise refusal(self.root / path, one.line, f"{one.path} is not there")
        return found


def _function(path: str, module: Module) -> str:
    """Return one module as a function called at once; its last act is to give out its names."""
    lines = []
    for one in module.imports:
        source = f'{RESERVED}["{posixpath.normpath(posixpath.join(posixpath.dirname(path), one.path))}"]'
        if one.whole:
            lines.append(f"const {one.whole}={source};\n")
        elif one.names:
            lines.append(f"const {{{','.join(_pair(there, here) for there, here in one.names)}}}={source};\n")
    given = ",".join(_pair(out, within) for out, within in sorted(module.exports))
    body = module.body.strip("\n")
    return (
        f'{RESERVED}["{path}"]=(()=>{{\n{"".join(lines)}{body}\nreturn Object.freeze({{{given}}});\n}})();\n'
    )


def _pair(key: str, name: str) -> str:
    return key if key == name else f"{key}:{name}"
