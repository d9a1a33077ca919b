"""Incidents with known truth from a network of its own: nothing of `evidence/`, nothing of the circuit, is imported here.

A house with one cable of five cores, up to four resistive loads, couplings and meters of its own; nodal analysis by hand.
"""

from dataclasses import dataclass
from math import pi

import numpy as np

LINES = ("L1", "L2", "L3")
CAUSES = ("sound", "open neutral", "bad joint", "line lost", "line lost as well", "line crossed with neutral",
          "protective conductor open", "neutral crossed with PE", "supply neutral open", "high-voltage phase lost",
          "raised earth", "supply overvoltage")
READINGS = {
    "to neutral": (("L1", "N"), ("L2", "N"), ("L3", "N")),
    "to neutral and earth": (("L1", "N"), ("L2", "N"), ("N", "PE"), ("L1", "PE"), ("PE", "earth")),
    "between all": (("L1", "N"), ("L2", "N"), ("L3", "N"), ("L1", "L2"), ("L2", "L3"), ("N", "earth")),
}
METERS = {"high": 1e7, "low": 3e5}
EVIDENCE = tuple((meter, on, name) for meter in METERS for on in (True, False) for name in READINGS)
SLIP = 0.02
LENGTH = 30.0


@dataclass(frozen=True)
class Incident:
    """What was true, and what was read of it."""

    cause: str
    text: str  #: the case file with its readings


def log_uniform(random, low, high):
    """Return a number from `low` to `high`, its logarithm uniform."""
    return low * (high / low) ** random.random()


def incident(cause, evidence, seed, wider=1.0) -> Incident:
    """Return one incident of `cause` read as `evidence` (meter, loads on, readings) says; `wider` widens every spread."""
    random = np.random.default_rng(seed)
    meter, on, name = evidence
    loads = [(f"{line} load", line, round(random.uniform(100, 3000), -1)) for line in LINES]
    volts = Network(cause, loads if on else [], random, wider)
    rows = []
    for a, b in READINGS[name]:
        shown = volts.read(a, b, METERS[meter])
        sigma = max(2.0, 0.02 * shown)
        told = random.uniform(0, 797) if random.random() < SLIP else abs(random.normal(shown, sigma))
        rows.append(f'[[observation]]\nbetween = "{a}-{b}"\nvoltage = {told:.2f}\nuncertainty = {sigma:.3f}\n'
                    f"impedance = {METERS[meter]}\n")
    head = 'title = "A house"\n[supply]\nearthing = "TN-S"\nelectrode = 2.0\n[[point]]\nname = "house"\n' \
           f"cable = {{ length = {LENGTH:g}, area = 10 }}\n"
    made = "".join(f'[[load]]\nname = "{label}"\nkind = "resistive"\nconnect = "{line}-N"\npower = {power}\non = {str(on).lower()}\n'
                   for label, line, power in loads)
    return Incident(cause, head + made + "".join(dict.fromkeys(rows)))


class Network:
    """Nodes of the house solved as one complex nodal system; sources behind 1 mΩ."""

    def __init__(self, cause, loads, random, wider):
        spread = lambda low, high: log_uniform(random, low / wider**0.5, high * wider**0.5)
        factor = random.normal(1.0, 0.03 * wider)
        factor = random.uniform(1.1, 1.6) if cause == "supply overvoltage" else factor
        angle = dict(zip(LINES, 230 * factor * np.exp(-2j * np.pi * np.arange(3) / 3)))
        if cause == "high-voltage phase lost":
            whole = LINES[random.integers(3)]
            angle = {line: angle[whole] if line == whole else -angle[whole] / 2 for line in LINES}
        self.sources = {f"supply {line}": v for line, v in angle.items()} | {"star": 0j}
        self.branches = []
        run = LENGTH * 0.0184 / 10
        raised = spread(10, 500) if cause == "raised earth" else 0.0
        self.sources["ground"] = complex(raised)
        self._join("ground", "earth", 1.0 if raised else 1e12)
        self._join("earth", "star", 2.0)
        self._join("supply N", "star", 1e12 if cause == "supply neutral open" else 1e-3)
        lost = LINES[random.integers(3)]
        ohms = {"N": spread(0.1, 100) if cause == "bad joint" else 0.0}
        to = {c: c for c in (*LINES, "N", "PE")}
        if cause == "line crossed with neutral":
            to[lost], to["N"] = "N", lost
        if cause == "neutral crossed with PE":
            to["PE"], to["N"] = "N", "PE"
        opened = {"open neutral": {"N"}, "line lost": {lost}, "line lost as well": {"N", lost},
                  "protective conductor open": {"PE"}}.get(cause, set())
        for c in (*LINES, "N", "PE"):
            start = "star" if c == "PE" else f"supply {c}"
            if c not in opened:
                self._join(start, to[c], run + ohms.get(c, 0.0))
        self._couple(random, spread)
        for _, line, power in loads:
            self._join(line, "N", 230.0**2 / power)

    def _join(self, a, b, impedance):
        self.branches.append((a, b, 1 / impedance))

    def _couple(self, random, spread):
        omega, core = 2 * pi * 50, spread(5e-11, 2e-10) * LENGTH
        far, shield = spread(0.03, 1.0), spread(0.03, 10.0)
        ring = list(random.permutation([*LINES, "N", "PE"]))
        for k, a in enumerate(ring):
            for m in range(k + 1, 5):
                near = m - k in (1, 4)
                self.branches.append((a, ring[m], 1j * omega * core * (1.0 if near else min(far, 1.0))))
            self.branches.append((a, "earth" if a == "PE" else "PE", 1j * omega * core * shield))
        self._join("N", "PE", spread(1e4, 1e9))
        for line in LINES:
            self._join(line, "N", spread(1e5, 1e10))

    def read(self, a, b, meter):
        """Return what a meter of `meter` (ohm) shows between two terminals, V."""
        volts = self._solved([*self.branches, (a, b, 1 / meter)])
        return abs(volts[a] - volts[b])

    def _solved(self, branches):
        names = sorted({n for branch in branches for n in branch[:2]} - set(self.sources))
        at = {name: k for k, name in enumerate(names)}
        y, i = np.zeros((len(names),) * 2, complex), np.zeros(len(names), complex)
        for a, b, g in branches:
            for one, other in ((a, b), (b, a)):
                if one in at:
                    y[at[one], at[one]] += g
                    if other in at:
                        y[at[one], at[other]] -= g
                    else:
                        i[at[one]] += g * self.sources[other]
        return dict(zip(names, np.linalg.solve(y, i))) | self.sources
