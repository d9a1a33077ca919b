"""A lesson on a case: what learners build, what is drawn, which parts it leaves out and why."""

from dataclasses import replace

from lostneutral.circuit.states import before_and_after
from lostneutral.consequences.pulses import trusted
from lostneutral.errors import UsageError
from lostneutral.frozen import dataclass
from lostneutral.result import Result
from lostneutral.teaching import figures
from lostneutral.teaching.bench import POINT, Bench, bench, plain_star, star_of
from lostneutral.teaching.constructions import arcs, neutral_current, star_point
from lostneutral.teaching.demonstration import Mains, mains
from lostneutral.teaching.look import Look, look_for
from lostneutral.teaching.star import NotAStar, Star, broken_run, main_point, star_loads
from lostneutral.teaching.terms import Terms, terms
from lostneutral.words.language import tell, to_tell

#: every figure that a lesson may have, in its order: name -> what it shows
FIGURES = to_tell({
    "wiring": "the wiring with the link in and changed",
    "blank": "the empty voltage diagram",
    "blank-currents": "the directions of the line currents, to draw on",
    "phasors": "the phasor diagram with the link in and changed",
    "neutral-current": "the neutral current by parallelograms",
    "star-point": "N from the rated powers",
    "star-point-readings": "N from three readings",
    "star-point-settled": "N of the lamps as they settled",
    "light": "the brightness of the lamps",
    "lamp-curve": "a lamp beside a fixed resistor",
    "case-blank": "the empty voltage diagram of the case",
    "case-readings": "N of the case from three readings",
})
CONSTRUCTED = ("neutral-current", "star-point", "star-point-readings")  #: whose absence a sheet explains


@dataclass(frozen=True)
class Lesson:
    result: Result  #: with the case as it stands once every event has happened
    look: Look
    bench: Bench  #: what learners build; prediction, readings, constructions and quiz are of it
    mains: Mains  #: whether it may be shown at mains voltage
    drawn: dict[str, tuple[str, str]]  #: name -> (SVG text, text alternative), of those that could be drawn
    left_out: dict[str, str]  #: part -> why it is left out
    nameplate: Star  #: of the bench version with fixed resistors, after the change

    @property
    def terms(self) -> Terms:
        return terms(self.bench.system)

    @property
    def point(self) -> str:
        """Return the name of the case's point that the lesson is about."""
        return main_point(self.result.case)


def lesson(result: Result, labels: str = "L1/L2/L3", colours: str | None = None, system: str | None = None) -> Lesson:
    """Return the lesson on `result`, with what can be drawn exactly drawn.

    `labels`, `colours`: how the class knows the conductors, see `look`. `system`: "split-phase" makes the bench version of a
    three-phase case the two-battery lesson. UsageError if the case has no broken or bad neutral, or nothing on it, or cannot be built so.
    Range: what learners build is at 24 V to neutral (12 V for the two-battery lesson); bounds and their sources: data file `lesson`.

    >>> from lostneutral import analyse, read_case, teach
    >>> made = teach(analyse(read_case("casebook/three-unequal-lamps.toml")))
    >>> made.bench.system, len(made.bench.case.loads)
    ('three-phase', 3)
    """
    case = result.case.at_the_end()
    if broken_run(case) is None:
        raise UsageError(
            f"“{case.title}”: a lesson needs a neutral that is broken or has a high-resistance joint — add a [[break]] "
            'with conductor = "N" to the case'
        )
    if not star_loads(case):
        raise UsageError(
            f"“{case.title}”: a lesson needs a load between a line and the neutral, beyond the break and on — "
            "add one, or switch one on"
        )
    named, left_out, decided = look_for(case, labels, colours), {}, mains(result)
    result = replace(result, case=case)
    try:
        built = bench(result, system)
    except NotAStar as why:
        raise UsageError(f"“{case.title}”: {why}") from None
    fixed = plain_star(built.system, built.volts, built.rated, joint=built.joint)
    nameplate = star_of(fixed, before_and_after(fixed)[1].reached)
    settled = star_of(built.case, built.after)
    corners, neutral = figures.bench_corners(built)
    three = built.system == "three-phase"
    currents = {line: built.before.currents[POINT, line] for line in built.lines}
    lamps = built.kind == "lamp"
    draw = {
        "wiring": lambda: figures.bench_wiring(built, named),
        "blank": lambda: figures.blank(corners, named),
        "phasors": lambda: figures.bench_phasors(built, named),
        "neutral-current": lambda: three and neutral_current(currents, named),
        "star-point": lambda: star_point(nameplate, named),
        "star-point-readings": lambda: three and arcs(corners, neutral, named),
        "star-point-settled": lambda: lamps and star_point(settled, named, "settled", only_last=True),
        "light": lambda: lamps and figures.light(built, named),
        "lamp-curve": lambda: lamps and figures.lamp_curve(),
        "case-readings": lambda: built.why_not_own and arcs(*_case_corners(result), named, "case"),
    }
    drawn = {}
    for name, each in draw.items():
        try:
            if made := each():
                drawn[name] = made
        except NotAStar as why:
            if name in CONSTRUCTED:
                left_out[FIGURES[name]] = str(why)
    if "neutral-current" in drawn:
        drawn["blank-currents"] = figures.blank_currents(currents, named)
    if "case-readings" in drawn:
        corners, neutral = _case_corners(result)
        # Room all round: where N lies is for the class to find.
        drawn["case-blank"] = figures.blank(corners, named, abs(neutral))
    return Lesson(
        result,
        named,
        built,
        decided,
        {name: drawn[name] for name in FIGURES if name in drawn},
        left_out,
        nameplate,
    )


def _case_corners(result):
    """Return the corners {line: V} at the case's point and its neutral, after the break. NotAStar where they are not known."""
    solution, point = result.after.reached, main_point(result.case)
    if solution is None or trusted(result):
        raise NotAStar(tell("no single voltage of N is known"))
    corners = {line: solution.nodes[point, line] for line in result.case.point(point).phases}
    neutral = solution.nodes.get((point, "N"))
    if neutral is None or None in corners.values():
        raise NotAStar(tell("the neutral or a line floats"))
    return corners, neutral
