"""Where the photos of a PDF stand: their boxes on each page, from the drawing operators."""

import io

import pikepdf


def _times(a, b):
    """Return the matrix that does ``a``, then ``b``."""
    return (
        a[0] * b[0] + a[1] * b[2],
        a[0] * b[1] + a[1] * b[3],
        a[2] * b[0] + a[3] * b[2],
        a[2] * b[1] + a[3] * b[3],
        a[4] * b[0] + a[5] * b[2] + b[4],
        a[4] * b[1] + a[5] * b[3] + b[5],
    )


def _box(m):
    xs, ys = [m[4], m[4] + m[0] + m[2]], [m[5], m[5] + m[1] + m[3]]
    return min(xs), min(ys), max(xs), max(ys)


def photos(pdf):
    """Yield (page, left, bottom, right, top) in points of every picture that is drawn."""
    with pikepdf.open(io.BytesIO(pdf)) as document:
        for number, page in enumerate(document.pages, 1):
            for box in _drawn(page, page, (1, 0, 0, 1, 0, 0)):
                yield number, *box


def _drawn(page, holder, matrix):
    stack, known = [], holder.get("/Resources", page.get("/Resources")).get("/XObject", {})
    for operands, operator in pikepdf.parse_content_stream(holder):
        name = str(operator)
        if name == "q":
            stack.append(matrix)
        elif name == "Q":
            matrix = stack.pop()
        elif name == "cm":
            matrix = _times([float(v) for v in operands], matrix)
        elif name == "Do":
            found = known[str(operands[0])]
            if found.Subtype == "/Image":
                yield _box(matrix)
            elif found.Subtype == "/Form":
                own = [float(v) for v in found.get("/Matrix", (1, 0, 0, 1, 0, 0))]
                yield from _drawn(page, found, _times(own, matrix))
