"""What a writer or a field may be called.  Twin of static/js/records/names.js.

A name that every JavaScript object has by itself is none: looked up in one, it is found without being there.
"""

import re
from typing import Any

NAME = re.compile(r"[A-Za-z0-9_-]{1,64}")
RESERVED = frozenset(
    "__proto__ __defineGetter__ __defineSetter__ __lookupGetter__ __lookupSetter__ constructor "
    "hasOwnProperty isPrototypeOf propertyIsEnumerable toLocaleString toString valueOf".split()
)


def is_name(value: Any) -> bool:
    """Say whether a value is a sound name."""
    return isinstance(value, str) and NAME.fullmatch(value) is not None and value not in RESERVED


def short_name(name: str) -> str:
    """Return a name as a sentence shows it: an odd one is cut short, its odd characters escaped."""
    return name if is_name(name) else f"{name[:40]!a}"
