"""Small dense linear algebra (a handful of rows): what the levels with ties need and no more."""

import math
from collections.abc import Sequence

from ..errors import SurveyError

NOTHING = 1e-9  # coefficients are shares between 0 and 1; smaller than this is zero

Vector = Sequence[float]
Matrix = Sequence[Sequence[float]]


def cholesky(matrix: Matrix) -> list[list[float]]:
    """Return the lower triangle L of a symmetric positive definite matrix, A = L L'.

    Parameters
    ----------
    matrix : sequence of sequences, shape (m, m)
        Symmetric; only the lower triangle is read.

    Returns
    -------
    list of list of float, shape (m, m)
        Zero above the diagonal.

    Raises
    ------
    SurveyError
        ``matrix_not_positive`` with the row at which it shows.

    References
    ----------
    Golub and Van Loan, Matrix Computations, 4th edition 2013, section 4.2.

    Examples
    --------
    >>> cholesky([[4.0, 2.0], [2.0, 5.0]])
    [[2.0, 0.0], [1.0, 2.0]]
    """
    size = len(matrix)
    lower = [[0.0] * size for _ in range(size)]
    for i in range(size):
        for j in range(i + 1):
            rest = matrix[i][j]
            for k in range(j):
                rest -= lower[i][k] * lower[j][k]
            if i != j:
                lower[i][j] = rest / lower[j][j]
            elif rest > 0:
                lower[i][i] = math.sqrt(rest)
            else:
                raise SurveyError("matrix_not_positive", "matrix", i)
    return lower


def solve_lower(lower: Matrix, right: Vector) -> list[float]:
    """Return x with L x = b for a lower triangle.

    Parameters
    ----------
    lower : sequence of sequences, shape (m, m)
        Lower triangle with a diagonal without zeros.
    right : sequence of float, length m
        b.

    Returns
    -------
    list of float, length m
        x.

    References
    ----------
    Forward substitution: Golub and Van Loan, Matrix Computations, 4th edition 2013, section 3.1.

    Examples
    --------
    >>> solve_lower([[2.0, 0.0], [1.0, 2.0]], [4.0, 6.0])
    [2.0, 2.0]
    """
    found: list[float] = []
    for row, value in zip(lower, right, strict=True):
        rest = value
        for factor, known in zip(row, found, strict=False):
            rest -= factor * known
        found.append(rest / row[len(found)])
    return found


def inverse(matrix: Matrix) -> list[list[float]]:
    """Return the inverse of a symmetric positive definite matrix.

    Parameters
    ----------
    matrix : sequence of sequences, shape (m, m)
        Symmetric positive definite.

    Returns
    -------
    list of list of float, shape (m, m)
        The inverse, exactly symmetric.

    Raises
    ------
    SurveyError
        ``matrix_not_positive``, see ``cholesky``.

    References
    ----------
    By the Cholesky factor: Golub and Van Loan, Matrix Computations, 4th edition 2013, section 4.2.

    Examples
    --------
    >>> inverse([[4.0, 0.0], [0.0, 16.0]])
    [[0.25, 0.0], [0.0, 0.0625]]
    """
    size = len(matrix)
    scale = [1 / math.sqrt(matrix[i][i]) if matrix[i][i] > 0 else 1.0 for i in range(size)]
    lower = cholesky([[matrix[i][j] * scale[i] * scale[j] for j in range(size)] for i in range(size)])
    columns = [solve_lower(lower, [1.0 if i == j else 0.0 for i in range(size)]) for j in range(size)]
    out = [[0.0] * size for _ in range(size)]
    for i in range(size):
        for j in range(size):
            out[i][j] = dot(columns[i], columns[j]) * scale[i] * scale[j]
    return out


def dot(left: Vector, right: Vector) -> float:
    """Return the inner product, added up from the first to the last.

    Parameters
    ----------
    left, right : sequence of float, equal lengths
        The factors.

    Examples
    --------
    >>> dot([1.0, 2.0], [3.0, 4.0])
    11.0
    """
    total = 0.0
    for a, b in zip(left, right, strict=True):
        total += a * b
    return total


def express(wanted: Vector, rows: Matrix) -> list[float] | None:
    """Return the factors with which some independent rows add up to a row, or None.

    Parameters
    ----------
    wanted : sequence of float, length n
        The row to be made.
    rows : sequence of sequences, shape (r, n)
        Independent rows.

    Returns
    -------
    list of float or None, length r
        ``wanted`` is the sum of factor times row; None if no factors do it to 1e-9.

    References
    ----------
    Gauss-Jordan elimination with the largest pivot: Golub and Van Loan, Matrix Computations, 4th edition
    2013, section 3.4.

    Examples
    --------
    >>> express([2.0, 3.0], [[1.0, 1.0], [0.0, 1.0]])
    [2.0, 1.0]
    >>> express([0.0, 0.0, 1.0], [[1.0, 1.0, 0.0]]) is None
    True
    """
    count, width = len(rows), len(wanted)
    # one equation per column of the rows; the factors are its unknowns
    table = [[rows[i][j] for i in range(count)] + [wanted[j]] for j in range(width)]
    for i in range(count):
        best = i
        for j in range(i + 1, width):
            if abs(table[j][i]) > abs(table[best][i]):
                best = j
        if best >= width or abs(table[best][i]) < NOTHING:
            return None
        table[i], table[best] = table[best], table[i]
        pivot = table[i][i]
        table[i] = [value / pivot for value in table[i]]
        for j in range(width):
            factor = table[j][i]
            if j != i and factor != 0:
                table[j] = [a - factor * b for a, b in zip(table[j], table[i], strict=True)]
    if any(abs(table[j][count]) > NOTHING for j in range(count, width)):
        return None
    return [table[i][count] for i in range(count)]
