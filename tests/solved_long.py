"""Linear equations to 25 digits: doubles, refined with residuals in the precision that mpmath is set to, until nothing moves any more."""

import mpmath
import numpy as np
from scipy.sparse import csc_matrix
from scipy.sparse.linalg import splu


def solved(rows, right):
    """Return the solution, a list: `rows` are {column: number} of mpmath, `right` their sums."""
    if not rows:
        return []
    i, k, v = zip(*((i, k, complex(v)) for i, row in enumerate(rows) for k, v in row.items()))
    factors = splu(csc_matrix((v, (i, k)), shape=(len(rows), len(rows))))
    x, left = [mpmath.mpc(0)] * len(rows), right
    for _ in range(30):
        step = factors.solve(np.array([complex(r) for r in left]))
        x = [a + mpmath.mpc(b) for a, b in zip(x, step)]
        if np.abs(step).max() <= 1e-25 * max(map(abs, x)):
            return x
        left = [r - sum((v * x[k] for k, v in row.items()), mpmath.mpc(0)) for r, row in zip(right, rows)]
    raise ArithmeticError("the network cannot be solved to 25 digits")
