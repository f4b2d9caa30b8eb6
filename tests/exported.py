"""The public functions of a module of ours."""

import ast
import re


def public_names(path, as_written=False):
    """Return their names, as a twin in JavaScript spells them or as they are written."""
    names = set()
    for node in ast.parse(path.read_text(encoding="utf-8")).body:
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
            names.add(node.name if as_written else re.sub(r"_([a-z0-9])", lambda m: m[1].upper(), node.name))
    return names
