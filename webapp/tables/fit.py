"""Whether a value is of the form that a type states: for tables, which come as JSON."""

import types
from collections.abc import Iterator, Mapping, Sequence
from typing import (
    Any,
    Literal,
    NotRequired,
    Required,
    Union,
    get_args,
    get_origin,
    get_type_hints,
    is_typeddict,
)


def misfits(value: Any, form: Any, where: str = "") -> Iterator[tuple[str, object]]:
    """Yield where a value is not of a form, and the form that is needed there.

    A key that the type lacks is one too: nobody would know that it is there.
    """
    origin, args = get_origin(form), get_args(form)
    if form is Any:
        return
    if origin in (Required, NotRequired):
        yield from misfits(value, args[0], where)
    elif is_typeddict(form):
        yield from _of_object(value, form, where)
    elif origin is Mapping and isinstance(value, dict):
        for key, one in value.items():
            yield from misfits(one, args[1], f"{where}.{key}")
    elif origin is Sequence and isinstance(value, list):
        for place, one in enumerate(value, 1):
            yield from misfits(one, args[0], f"{where}[{place}]")
    elif origin in (Union, types.UnionType):
        if all(any(True for _ in misfits(value, one, where)) for one in args):
            yield where, form
    elif not _is_plain(value, form):
        yield where, form


def _of_object(value: Any, form: Any, where: str) -> Iterator[tuple[str, object]]:
    if not isinstance(value, dict):
        yield where, form
        return
    hints = get_type_hints(form, include_extras=True)
    for key in [*hints, *(name for name in value if name not in hints)]:
        place = f"{where}.{key}" if where else key
        if key not in value:
            if key in form.__required_keys__:
                yield place, hints[key]
        elif key not in hints:
            yield place, None
        else:
            yield from misfits(value[key], hints[key], place)


def _is_plain(value: Any, form: Any) -> bool:
    if get_origin(form) is Literal:
        return any(type(value) is type(one) and value == one for one in get_args(form))
    if form is float:
        return isinstance(value, int | float) and not isinstance(value, bool)
    return type(value) is form
