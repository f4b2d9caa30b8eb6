"""Which functions, classes and constants of the server nothing there reaches, by names in its syntax trees.

A definition is reached where a module that can see it names it: its own outside the definition, or one that
imports it or its module.  What only an unreached definition names is unreached too.  What a decorator takes
is reached, and so is what stands in a string with a point or colon (a command's row, a route's permission).
"""

import ast
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

# Decorators that hand a function to nobody else.
PLAIN = {"cache", "lru_cache", "contextmanager", "dataclass", "overload", "final", "wraps"}
OUTSIDE = ""  # what is named outside of every definition is reached
Definition = tuple[str, str]  # of which module, its name


@dataclass
class Module:
    """What a module defines, and what each of its definitions names."""

    path: Path
    own: set[str] = field(default_factory=set)
    taken: set[str] = field(default_factory=set)  # by a decorator, or by the language
    imported: dict[str, Definition] = field(default_factory=dict)  # name here: module, and name there or ""
    named: list[tuple[str, list[str]]] = field(default_factory=list)  # in which definition, what: a, or a.b.c
    strings: set[str] = field(default_factory=set)


def unreached(
    folder: Path, others: str = "", is_root: Callable[[str, str], bool] = lambda *_: False
) -> set[str]:
    """Return the definitions below ``folder`` that nothing reaches, as ``module name``.

    ``others`` is further text that may name them; ``is_root`` says which are reached from elsewhere.
    """
    paths = [path for path in sorted(folder.rglob("*.py")) if "migrations" not in path.parts]
    modules = {_dotted(path, folder): _read(path) for path in paths}
    for dotted, module in modules.items():
        module.imported = dict(_imports(dotted, module, modules))
    words = set(re.findall(r"\w+", others)).union(*(one.strings for one in modules.values()))
    edges: dict[Definition, set[Definition]] = {}
    for dotted, module in modules.items():
        for inside, chain in module.named:
            edges.setdefault((dotted, inside), set()).update(_meant(dotted, chain, modules))
    waiting = [(dotted, OUTSIDE) for dotted in modules]
    for dotted, module in modules.items():
        waiting += [(dotted, n) for n in module.own if n in module.taken | words or is_root(dotted, n)]
    reached: set[Definition] = set()
    while waiting:
        one = waiting.pop()
        if one not in reached:
            reached.add(one)
            waiting += edges.get(one, ())
    return {f"{d} {n}" for d, module in modules.items() for n in module.own if (d, n) not in reached}


def _dotted(path: Path, folder: Path) -> str:
    parts = (folder.name, *path.relative_to(folder).with_suffix("").parts)
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def _read(path: Path) -> Module:
    module = Module(path)
    for node in ast.parse(path.read_text(encoding="utf-8")).body:
        names = _names_of(node)
        module.own.update(names)
        module.taken.update(name for name in names if _is_taken(node, name))
        _collect(module, names[0] if names else OUTSIDE, node)
    return module


def _names_of(node: ast.stmt) -> list[str]:
    if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
        return [node.name]
    targets = node.targets if isinstance(node, ast.Assign) else []
    if isinstance(node, ast.AnnAssign):
        targets = [node.target]
    flat = [one for target in targets for one in (target.elts if isinstance(target, ast.Tuple) else [target])]
    return [one.id for one in flat if isinstance(one, ast.Name)]


def _is_taken(node: ast.stmt, name: str) -> bool:
    if name.startswith("__") or name == "_":
        return True
    for mark in getattr(node, "decorator_list", []):
        words = {n.id if isinstance(n, ast.Name) else n.attr for n in ast.walk(mark)
                 if isinstance(n, ast.Name | ast.Attribute)}  # fmt: skip
        if words.isdisjoint(PLAIN):
            return True
    return False


def _collect(module: Module, inside: str, node: ast.stmt) -> None:
    """Note every name, with the attributes after it; a quoted annotation is a name too."""
    seen: set[int] = set()
    for one in ast.walk(node):
        if isinstance(one, ast.Attribute | ast.Name) and id(one) not in seen:
            chain: list[str] = []
            at: ast.expr = one
            while isinstance(at, ast.Attribute):
                chain.insert(0, at.attr)
                at = at.value
                seen.add(id(at))
            if isinstance(at, ast.Name) and isinstance(at.ctx, ast.Load):
                module.named.append((inside, [at.id, *chain]))
        elif isinstance(one, ast.Constant) and isinstance(one.value, str):
            if re.fullmatch(r"\w+[.:][\w.:]+", one.value):
                module.strings.update(re.split(r"[.:]", one.value))
            if re.fullmatch(r"[\w.\[\], |]{1,100}", one.value) and one.value[0].isupper():
                module.named += [(inside, [word]) for word in re.findall(r"\w+", one.value)]


def _imports(dotted: str, module: Module, modules: dict[str, Module]) -> Iterator[tuple[str, Definition]]:
    parts = dotted.split(".")
    base = parts if module.path.name == "__init__.py" else parts[:-1]
    for node in ast.walk(ast.parse(module.path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom):
            own = base[: len(base) - node.level + 1] if node.level else []
            stem = ".".join([*own, *([node.module] if node.module else [])])
            for name in node.names:
                whole = f"{stem}.{name.name}"
                yield name.asname or name.name, (whole, "") if whole in modules else (stem, name.name)


def _meant(dotted: str, chain: list[str], modules: dict[str, Module]) -> Iterator[Definition]:
    """Yield what a name with its attributes leads to, through modules that hand it on."""
    name, *more = chain
    module = modules.get(dotted)
    if module is None:
        return
    if name in module.own:
        yield dotted, name
        return
    where, there = module.imported.get(name, ("", ""))
    if there:
        yield from _meant(where, [there, *more], modules)
    elif where and more and f"{where}.{more[0]}" in modules and more[0] not in modules[where].own:
        yield from _meant(f"{where}.{more[0]}", more[1:], modules) if more[1:] else ()
    elif where and more:
        yield from _meant(where, more, modules)
    elif where:  # a module as a value: all that it holds or hands on
        handed_on = [one for one, (_, there) in modules[where].imported.items() if there]
        for one in (*modules[where].own, *handed_on):
            yield from _meant(where, [one], modules)
