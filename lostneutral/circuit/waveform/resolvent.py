"""What (s M − K)⁻¹ makes of a right-hand side, for steps whose length is never the same twice."""

import numpy as np

_OFTEN = 3  #: lengths that are solved for one by one; what is asked for more often is decomposed
_CONDITION = 1e6  #: of the eigenvectors, beyond which they are not trusted: rounding is multiplied by it


class Resolvent:
    """(s M − K)⁻¹ of a diagonal `mass` M and one `system` K.

    With A₀ = s₀ M − K at one `shift` s₀, and E the unknowns that have a mass m, (s M − K)⁻¹ is A₀⁻¹ less what goes through
    (1 + (s − s₀) √m Eᵀ A₀⁻¹ E √m)⁻¹, which is diagonal in the eigenvectors of that small matrix, the same for every s. They
    stand nearly square on one another: in √m every unknown counts by its energy.
    """

    def __init__(self, mass, system, shift):
        self.mass, self.system, self.shift = np.diag(mass), system, shift
        self._asked, self._parts = 0, None

    def solved(self, s, forces, states):
        """Return (s M − K)⁻¹ (forces + s M states) of columns (n, …), `s` (1/s) real or complex, or several of them, (…, 1, 1)."""
        self._asked += 1
        if self._asked == _OFTEN + 1:
            self._parts = self._decomposed()
        if self._parts is None:
            return np.linalg.solve(s * np.diag(self.mass) - self.system, forces + s * self.mass[:, None] * states)
        base, moving, root, values, into, back = self._parts
        forced = base @ forces
        less = into @ (root * (s * states[moving] - (s - self.shift) * forced[moving]))
        return forced + back @ (less / (1 + (s - self.shift) * values[:, None]))

    @property
    def decomposed(self):
        """Whether any further length costs products only."""
        return self._parts is not None

    def _decomposed(self):
        moving = np.flatnonzero(self.mass)
        root = np.sqrt(self.mass[moving])[:, None]
        base = np.linalg.inv(np.diag(self.shift * self.mass) - self.system)
        through = base[:, moving] * root.T
        values, vectors = np.linalg.eig(root * through[moving])
        if not np.linalg.cond(vectors) < _CONDITION:  # infinite where there are too few of them
            return None
        return base, moving, root, values, np.linalg.inv(vectors), through @ vectors
