"""A lesson on a case: what is drawn for it, which parts it leaves out and why, and its two documents."""

from dataclasses import dataclass, replace

from lostneutral.consequences.pulses import as_waves, trusted
from lostneutral.errors import UsageError
from lostneutral.report import damage_figures
from lostneutral.report.words import shown
from lostneutral.result import Result
from lostneutral.teaching import figures
from lostneutral.teaching.bench import Bench, bench, has_lamps_only
from lostneutral.teaching.constructions import arcs, neutral_current, star_point
from lostneutral.teaching.labels import relabel
from lostneutral.teaching.star import ADDS_UP, NotAStar, Star, broken_run, nameplate_star, star, star_loads

#: every figure that a lesson may have, in its order: name -> what it shows
FIGURES = {
    "wiring": "the wiring with and without the neutral",
    "phasors": "the phasor diagram with and without the neutral",
    "phasors-values": "the same with its figures",
    "neutral-current": "the neutral current by parallelograms",
    "star-point": "the star point from the nameplates",
    "blank": "the empty voltage diagram",
    "star-point-readings": "the star point from three readings",
    "star-point-settled": "the star point of the loads as they settled",
    "light": "the light of the lamps",
    "lamp-curve": "a lamp beside a fixed resistor",
}


@dataclass(frozen=True)
class Lesson:
    result: Result
    labels: str
    point: str  #: where the diagrams are of
    drawn: dict[str, tuple[str, str]]  #: name -> (SVG text, text alternative), of those that could be drawn
    left_out: dict[str, str]  #: part -> why it is left out
    nameplate: Star | None  #: with fixed resistors, after the break
    settled: Star | None  #: as the loads are, after the break
    benches: tuple[Bench, ...]


def lesson(result: Result, labels: str = "L1/L2/L3") -> Lesson:
    """Return the lesson on `result`, with what can be drawn exactly drawn.

    Where loads that draw pulses decide what happens, its figures are those of the waveforms, and no arrows are drawn.
    UsageError if the case has no broken or bad neutral, or nothing on it.
    """
    case = result.case
    if broken_run(case) is None:
        raise UsageError(
            f"“{case.title}”: a lesson needs a neutral that is broken or bad — add a [[break]] with "
            'conductor = "N" to the case'
        )
    if not star_loads(case):
        raise UsageError(
            f"“{case.title}”: a lesson needs a load between a line and the neutral, past the bad neutral and on — "
            "add one, or switch one on"
        )
    point, left_out, result = figures.main_point(case), {}, as_waves(result)

    def attempt(part, work):
        try:
            return work()
        except NotAStar as why:
            left_out[part] = str(why)
            return None

    def of_sines(work):
        if trusted(result):
            raise NotAStar("the loads of this case draw their current in pulses, which arrows cannot show")
        return work()

    nameplate = attempt(FIGURES["star-point"], lambda: nameplate_star(case))
    settled = attempt(FIGURES["star-point-settled"], lambda: star(case, _reached(result.after)))
    draw = {
        "wiring": lambda: figures.wiring(case, labels),
        "phasors": lambda: of_sines(lambda: figures.phasors(result, point, labels)),
        "phasors-values": lambda: of_sines(lambda: figures.phasors(result, point, labels, values=True)),
        "neutral-current": lambda: of_sines(lambda: neutral_current(_line_currents(result), labels)),
        "star-point": lambda: nameplate and star_point(nameplate, labels),
        "blank": lambda: figures.blank(_corners(result, point)[0], labels),
        "star-point-readings": lambda: of_sines(lambda: arcs(*_corners(result, point), labels)),
        "star-point-settled": lambda: settled and star_point(settled, labels, "settled"),
        "light": lambda: _light(result, labels),
        "lamp-curve": figures.lamp_curve,
    }
    drawn = {name: made for name, each in draw.items() if (made := attempt(FIGURES[name], each))}
    kinds = ("lamp", "resistive") if has_lamps_only(case) else ("resistive",)
    benches = tuple(
        filter(
            None,
            (
                attempt(
                    f"the bench version with {'lamps' if kind == 'lamp' else 'resistors'}",
                    lambda kind=kind: bench(case, kind),
                )
                for kind in kinds
            ),
        )
    )
    return Lesson(result, labels, point, drawn, left_out, nameplate, settled, benches)


def _reached(state):
    if state.reached is None:
        raise NotAStar(
            "the loads leave it open which line goes high"
            if state.name == "after"
            else "the circuit has no settled state with the neutral in"
        )
    return state.reached


def _corners(result, point):
    """Return the corners {line: V} at `point` and its neutral, after the break."""
    solution = _reached(result.after)
    corners = {line: solution.nodes[point, line] for line in result.case.point(point).phases}
    neutral = solution.nodes.get((point, "N"))
    if neutral is None or None in corners.values():
        raise NotAStar("the neutral or a line floats: nothing ties it down")
    return corners, neutral


def _line_currents(result):
    """Return {line: A} of the run with the bad neutral, while it was sound and the only way back."""
    before, run = _reached(result.before), broken_run(result.case)
    currents = {line: before.currents[run, line] for line in result.case.point(run).phases}
    back = before.currents.get((run, "N"))
    if back is None or None in currents.values():
        raise NotAStar("the currents are not determined where conductors have no resistance")
    if abs(sum(currents.values()) + back) > ADDS_UP * max(map(abs, currents.values()), default=0.0):
        raise NotAStar("the neutral is not the only way back: part of the current returns through earth or metalwork")
    return currents


def _light(result, labels):
    if not shown(result.after) or not damage_figures.lamps_of(result):
        raise NotAStar("the case has no filament lamp")
    return damage_figures.lamps(
        replace(result, before=_named(result.before, labels), after=_named(result.after, labels))
    )


def _named(state, labels):
    """Return `state` with loads called as the class would call them, where a line's name is part of theirs."""
    return replace(
        state,
        solutions=tuple(
            replace(s, loads=tuple(replace(load, name=relabel(load.name, labels)) for load in s.loads))
            for s in state.solutions
        ),
    )
