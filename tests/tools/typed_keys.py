"""A plugin of mypy: ``get`` with a name that a typed record does not have is an error.

By itself mypy lets ``fields.get("clok")`` pass as an object of no known type.
"""

from collections.abc import Callable

from mypy.plugin import MethodContext, Plugin
from mypy.plugins.common import try_getting_str_literals
from mypy.plugins.default import typed_dict_get_callback
from mypy.types import Type, TypedDictType, get_proper_type


class TypedKeys(Plugin):
    """Looks at every ``get`` of a TypedDict."""

    def get_method_hook(self, fullname: str) -> Callable[[MethodContext], Type] | None:
        return _known_key if fullname == "typing.Mapping.get" else None


def _known_key(context: MethodContext) -> Type:
    record = get_proper_type(context.type)
    if isinstance(record, TypedDictType) and context.args and context.args[0]:
        for name in try_getting_str_literals(context.args[0][0], context.arg_types[0][0]) or ():
            if name not in record.items:
                kind = record.fallback.type.name if not record.is_anonymous() else "The typed dict"
                context.api.fail(f'{kind} has no field "{name}"', context.context)
    return typed_dict_get_callback(context)


def plugin(version: str) -> type[Plugin]:
    """Entry point, called by mypy."""
    return TypedKeys
