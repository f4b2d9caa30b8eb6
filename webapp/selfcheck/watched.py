"""The inputs of a reference value, and which of them nobody asked for."""

from collections.abc import Iterator
from typing import Any

Values = dict[str, Any]  # the inputs of a topic, and what it computes


class Watched(Values):
    """A mapping that remembers what was asked of it; lists and mappings in it do so too."""

    def __init__(self, values: Values) -> None:
        super().__init__({key: _watched(value) for key, value in values.items()})
        self._asked: set[object] = set()

    def __getitem__(self, key: str) -> Any:
        self._asked.add(key)
        return super().__getitem__(key)

    def __contains__(self, key: object) -> bool:
        self._asked.add(key)
        return super().__contains__(key)

    def get(self, key: str, default: Any = None) -> Any:
        """Return a value, which counts as asked for."""
        self._asked.add(key)
        return super().get(key, default)

    def __iter__(self) -> Iterator[str]:
        self._asked.update(super().keys())
        return super().__iter__()

    def unasked(self) -> list[str]:
        """Return the names that nobody asked for, those of inner mappings after a full stop."""
        found: list[str] = []
        for key, value in super().items():
            if key not in self._asked:
                found.append(key)
                continue
            found.extend(f"{key}.{inner}" for inner in _unasked(value))
        return found


def _watched(value: Any) -> Any:
    if isinstance(value, dict):
        return Watched(value)
    return [_watched(one) for one in value] if isinstance(value, list) else value


def _unasked(value: Any) -> list[str]:
    if isinstance(value, Watched):
        return value.unasked()
    if isinstance(value, list):
        return list(dict.fromkeys(name for one in value for name in _unasked(one)))
    return []
