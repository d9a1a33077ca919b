"""What an exercise is, and the small circuits that hold its key to the solver."""

from math import sqrt

from lostneutral.case.model import Break, Case, Cross, Load, Point, Supply
from lostneutral.circuit.states import before_and_after
from lostneutral.frozen import dataclass
from lostneutral.teaching.labels import relabel

GRADES = {1: "arithmetic", 2: "a formula", 3: "phasors"}
FIXED = "Take every load as a fixed resistance (real lamps and heaters differ)."
POINT = "board"


@dataclass(frozen=True)
class Answer:
    """One line of the key; a figure rounded as the question asks, or words."""

    name: str
    value: float | str
    unit: str = ""
    decimals: int = 0

    @property
    def words(self):
        """As printed."""
        return self.value if isinstance(self.value, str) else f"{self.value:.{self.decimals}f} {self.unit}".rstrip()


@dataclass(frozen=True)
class Exercise:
    """A question with its key, held to the solver when it was made."""

    kind: str
    grade: int  #: of `GRADES`
    text: str
    given: tuple[tuple[str, str], ...]  #: (what, value with unit)
    answers: tuple[Answer, ...]
    steps: tuple[str, ...]  #: the worked solution, a line each
    trap: str = ""  #: the usual mistake and what it gives
    source: str = ""  #: "after …", of a kind that has been set in a published examination or book
    case: Case | None = None  #: the circuit after the fault, for the solver

    @property
    def marks(self):
        """One for each answer, and one more for the working of each grade above the first."""
        return len(self.answers) + self.grade - 1

    @property
    def system(self):
        """Kind of supply: "three-phase" or "split-phase"."""
        return self.case.supply.system

    @property
    def answer(self):
        """The whole answer as printed."""
        return "; ".join(f"{a.name}: " + (a.words if isinstance(a.value, str) else a.words.replace(" ", "\u00a0")) for a in self.answers)

    def named(self, labels):
        """Return the exercise with its lines called as `labels` says."""
        say = lambda text: relabel(text, labels)
        return Exercise(
            self.kind, self.grade, say(self.text), tuple((say(a), say(b)) for a, b in self.given),
            tuple(Answer(say(a.name), say(a.value) if isinstance(a.value, str) else a.value, a.unit, a.decimals)
                  for a in self.answers),
            tuple(map(say, self.steps)), say(self.trap), self.source, self.case)


class Unclear(Exception):
    """The figures of a draw do not come out clearly; another is drawn."""


def rounded_off(value, decimals=0, near=0.02, printed=None):
    """Return `value` rounded; `Unclear` if it lies within `near` places of a half, where a slip would round it away.

    `printed` is the same worked out from figures as the steps print them: `Unclear` if it rounds to something else.
    """
    if abs(abs(value) * 10**decimals % 1 - 0.5) < near or round(value, decimals) != round(value if printed is None else printed, decimals):
        raise Unclear
    return round(value, decimals)


def as_printed(value, decimals=0):
    """Return `value` as the steps print it."""
    text = f"{value:.{decimals}f}"
    return text[1:] if text.startswith("-") and not text.strip("-0.") else text.replace("-", "−")


def rated_ohms(power, volts):
    """Return the resistance (Ω) of a load of `power` (W) at `volts` (V)."""
    return volts**2 / power


def star_case(volts, loads, neutral=None, system="three-phase", crosses=(), breaks=(), backward=False):
    """Return the case of `loads` {line: Ω, complex} behind one run; `volts` (V) line to neutral.

    `neutral`: its resistance in Ω, inf = open, None = sound. `breaks`: lines that are open. `backward`: L1-L3-L2.
    """
    behind = complex(-0.5, sqrt(0.75) if backward else -sqrt(0.75))
    turn = {"L1": 1, "L2": behind, "L3": behind.conjugate()} if system == "three-phase" else {"L1": 1, "L2": -1}
    made = tuple(Load(f"load {line}", "impedance", (line, "N"), POINT, volts,
                      parameters={"resistance": complex(z).real, "reactance": complex(z).imag}) for line, z in loads.items())
    broken = ([] if neutral is None else [Break(POINT, "N", neutral)]) + [Break(POINT, line) for line in breaks]
    return Case("exercise", Supply({line: volts * t for line, t in turn.items()}, system, volts), (Point(POINT, phases=tuple(turn)),),
                made, breaks=tuple(broken), crosses=tuple(Cross(POINT, c) for c in crosses))


def solved(case):
    """Return (before, after): the solver's states, each with voltages between conductors and currents of the run."""
    return tuple(state.solutions[0] for state in before_and_after(case))


def solved_volts(solution, line, other="N"):
    """Return the solver's voltage (V) between two conductors at the board."""
    return abs(solution.between((POINT, line), (POINT, other)))


def solved_amps(solution, conductor):
    """Return the solver's current (A) in a conductor of the run."""
    return abs(solution.currents[POINT, conductor])


def held(answers, by_solver):
    """Return `answers` if every figure is the solver's, rounded; ArithmeticError if the key would be wrong."""
    for answer, value in zip(answers, by_solver, strict=True):
        if not isinstance(answer.value, str) and abs(answer.value - value) > 0.5 * 10**-answer.decimals + 1e-9:
            raise ArithmeticError(f"{answer}: the solver has {value}")
    return answers
