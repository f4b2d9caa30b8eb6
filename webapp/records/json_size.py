"""How many values a JSON text holds and how deep they lie, counted in its bytes before it is parsed.

Parsed, a value takes up to a hundred times the bytes that it takes in the text.  One pass, piece by piece;
what stands in strings is left out.  Text that is no JSON gets some count too: the parser refuses it later.
"""

from itertools import accumulate

PIECE_BYTES = 1 << 17
_STEP = {ord(sign): 1 if sign in "[{" else -1 for sign in "[]{}"}
_NO_SIGN = bytes(set(range(256)) - set(b'",[]{}'))
_NO_BRACKET = b","


class JsonSize:
    """Counts one text.

    ``values``: the text itself, and every member of an object or array; an empty one counts as if it had a
    member.  ``depth``: how many objects and arrays lie in one another.
    """

    def __init__(self) -> None:
        self.values, self.depth = 1, 0
        self._level = 0
        self._in_string = False
        self._rest = b""  # a backslash at the end of a piece, whose letter comes with the next

    def feed(self, piece: bytes) -> None:
        """Count one piece more."""
        data = self._rest + piece
        odd = (len(data) - len(data.rstrip(b"\\"))) % 2
        self._rest, data = data[len(data) - odd :], data[: len(data) - odd]
        if b"\\" in data:
            data = data.replace(b"\\\\", b"").replace(b'\\"', b"")
        # Without escapes every quotation mark begins or ends a string.  Of two that stand together, once all
        # else is left out, neither changes whether what follows is in a string.
        parts = data.translate(None, _NO_SIGN).replace(b'""', b"").split(b'"')
        bare = b"".join(parts[int(self._in_string) :: 2])
        self._in_string ^= len(parts) % 2 == 0
        brackets = bare.translate(None, _NO_BRACKET)
        if brackets:
            levels = list(accumulate(map(_STEP.__getitem__, brackets), initial=self._level))
            self.depth, self._level = max(self.depth, max(levels)), levels[-1]
        self.values += bare.count(b",") + brackets.count(b"[") + brackets.count(b"{")


def json_size(text: bytes) -> JsonSize:
    """Return the size of a whole text."""
    size = JsonSize()
    for at in range(0, len(text), PIECE_BYTES):
        size.feed(text[at : at + PIECE_BYTES])
    return size
