"""JSON pointers to lines of the text: what leads to a wanted place is walked, the rest is skipped."""

import json
import re
from collections.abc import Iterable
from typing import Any

SPACE = re.compile(r"[ \t\n\r]*")
_SCAN = json.JSONDecoder().raw_decode
Tree = dict[str, Any]


def lines_of(text: str, pointers: Iterable[str]) -> dict[str, int]:
    """Return the line, from 1, of each pointer; of one that is not there, the line of what should hold it.

    ``text`` is JSON that has been read already.
    """
    wanted = set(pointers)
    tree: Tree = {}
    for one in wanted:
        branch = tree
        for part in one.split("/")[1:]:
            branch = branch.setdefault(part, {})
    offsets: dict[str, int] = {}
    _walk(text, _skip(text, 0), tree, "", offsets)
    lines, line, before = {}, 1, 0
    for offset in sorted(set(offsets.values())):
        line += text.count("\n", before, offset)
        lines[offset], before = line, offset
    return {one: lines[offsets[_there(one, offsets)]] for one in wanted}


def _there(one: str, offsets: dict[str, int]) -> str:
    """Return the pointer, or the nearest above it that is there."""
    while one not in offsets:
        one = one.rpartition("/")[0]
    return one


def _walk(text: str, at: int, tree: Tree, path: str, offsets: dict[str, int]) -> int:
    """Note where a value begins, and where those below it that are wanted do; return where it ends."""
    offsets[path] = at
    if not tree or text[at] not in "{[":
        return int(_SCAN(text, at)[1])
    closing, in_object = ("}", True) if text[at] == "{" else ("]", False)
    at, index = _skip(text, at + 1), 0
    while text[at] != closing:
        name = str(index)
        if in_object:
            key, at = _SCAN(text, at)
            name, at = key.replace("~", "~0").replace("/", "~1"), _skip(text, _skip(text, at) + 1)
        if name in tree:
            at = _walk(text, at, tree[name], f"{path}/{name}", offsets)
        else:
            at = _SCAN(text, at)[1]
        at, index = _skip(text, at), index + 1
        if text[at] == ",":
            at = _skip(text, at + 1)
    return at + 1


def _skip(text: str, at: int) -> int:
    match = SPACE.match(text, at)
    return match.end() if match else at
