"""Whether a case may be shown at mains voltage: offered only while every voltage, power and current stays within bounds."""

from math import isinf

from lostneutral import data
from lostneutral.circuit.wiring import pen_run
from lostneutral.frozen import dataclass
from lostneutral.loads import load_model
from lostneutral.report.base.words import number, significant
from lostneutral.result import Result
from lostneutral.teaching.star import star_loads
from lostneutral.words.amounts import plain
from lostneutral.words.language import tell


@dataclass(frozen=True)
class Reason:
    """What speaks against a mains demonstration: for a learner's sheet, without results; and for the key, with them."""

    words: str
    figures: str


@dataclass(frozen=True)
class Mains:
    """The decision on a mains demonstration: offered if there is no reason against it."""

    why_not: tuple[Reason, ...]
    current: float  #: A, the largest of any conductor in both states
    fuse: float | None  #: A, rating of the fuse link in each line; None if none of the list carries the current

    @property
    def offered(self) -> bool:
        return not self.why_not


def mains(result: Result) -> Mains:
    """Return whether the case of `result` may be shown at mains voltage, with every reason against it.

    Bounds: `bounds` of data file `lesson`. Every settled state before and after the break counts, whichever is arrived at.
    """
    amps = max((abs(i) for s in _states(result) for i in s.currents.values() if i is not None), default=0.0)
    fuses = data.load("lesson")["bounds"]["fuses"]
    fuse = next((r for r in fuses["rating"] if r >= fuses["margin"] * amps), None)
    wiring = (Reason(words, words) for words in _wiring(result.case))
    return Mains((*wiring, *_figures(result, amps)), amps, fuse)


def _states(result):
    return (*result.before.solutions, *result.after.solutions)


def _wiring(case):
    """Yield what speaks against it in the wiring itself."""
    bounds, supply = data.load("lesson")["bounds"], case.supply
    broken = case.breaks_after()
    if any(b.conductor == "N" and pen_run(case, case.point(b.feeding)) for b in broken):
        yield tell("the broken conductor is a PEN: metalwork would be live")
    if supply.earthing is None:
        yield tell("the earthing is not known, so that nothing can be said of the metalwork")
    if len(broken) > 1 or case.crosses or any(b.conductor != "N" for b in broken):
        yield tell("more than the neutral is broken or transposed")
    if any(not isinf(b.resistance) for b in broken):
        yield tell("a resistance in the neutral at mains voltage itself gives off heat")
    if len(case.points) > 1 or case.paths:
        yield tell("it is an installation with several places, not a board")
    if any(event.change is not None for event in case.events):
        yield tell("the neutral opens while the loads are on")
    if supply.nominal_line_to_line > bounds["line_to_line"]["value"] + 1:
        yield (
            tell("the supply has {volts} V between lines (bound: {bound} V)", volts=number(supply.nominal_line_to_line, 0),
                 bound=plain(bounds["line_to_line"]["value"]))
        )
    fit = {load.name for load in star_loads(case) if _part_of_a_board(load_model(load, supply)[0])}
    foreign = [load.name for load in case.loads if load.on and load.name not in fit]
    if foreign:
        if len(foreign) == 1:
            yield tell("“{item}”: neither a lamp nor a resistor between a line and the neutral", item=foreign[0])
        else:
            yield tell("“{item}” and {number} more: neither a lamp nor a resistor between a line and the neutral", item=foreign[0],
                       number=len(foreign) - 1)


def _part_of_a_board(model):
    """Whether a demonstration board is fitted with such a load: a lamp, or a resistor that keeps its value."""
    return model.gives_light or (model.resistor_like and model.series is not None)


def _figures(result, amps):
    """Yield what speaks against it in the figures."""
    bounds, rated = data.load("lesson")["bounds"], {load.name: load for load in result.case.loads}
    if result.after.reached is None or result.before.reached is None:
        yield Reason(*[tell("the calculation leaves it open which voltages would follow")] * 2)
    on = [(rated[x.name], x) for s in _states(result) for x in s.loads if x.on]
    if any(x.ratio is None for _, x in on):
        yield Reason(*[tell("a voltage is not determined")] * 2)
    load, seen = max(
        ((a, x) for a, x in on if x.ratio is not None), key=lambda pair: pair[1].ratio, default=(None, None)
    )
    bound = bounds["over_rated"]["value"]
    if load and seen.ratio > bound:
        yield Reason(
            tell("a load would be above {bound} × its rated voltage", bound=plain(bound)),
            (
                tell("“{item}” would be at about {volts} V, {ratio} × rated voltage (bound: {bound} ×)", item=load.name,
                     volts=number(abs(seen.voltage), 0), ratio=number(seen.ratio, 2), bound=plain(bound))
            ),
        )
    powers = ((a, x.power / a.count) for a, x in on if x.power is not None)
    load, watts = max(powers, key=lambda pair: pair[1], default=(None, 0.0))
    bound = bounds["power"]["value"]
    if load and watts > bound:
        yield Reason(
            tell("a load would take more than {bound} W", bound=plain(bound)),
            tell("“{item}” would take {watts} (bound: {bound} W)", item=load.name, watts=significant(watts, 'W', 2), bound=plain(bound)),
        )
    bound = bounds["current"]["value"]
    if amps > bound:
        yield Reason(
            tell("a conductor would carry more than {bound} A", bound=plain(bound)),
            tell("a conductor would carry {amps} (bound: {bound} A)", amps=significant(amps, 'A', 2), bound=plain(bound)),
        )
    yield from heat_of_joint(result)
    bound = bounds["soonest_failure"]["value"]
    soon = [v for v in result.verdicts if v.fails and (v.earliest or 0.0) < bound]
    if soon:
        yield Reason(
            tell("a load may fail within {bound} minutes", bound=plain(bound / 60)),
            tell("“{item}” may fail within {bound} minutes", item=soon[0].item, bound=plain(bound / 60))
        )


def heat_of_joint(result: Result):
    """Yield the Reason that a joint in the case would give off more than it can shed, if it would."""
    bound = data.load("yardsticks")["joint_sheds"]["value"]
    heats = [
        b.resistance * abs(i) ** 2
        for b in result.case.breaks_after()
        if not isinf(b.resistance)
        for s in result.after.solutions
        if (i := s.currents.get((b.feeding, b.conductor))) is not None
    ]
    if heats and max(heats) > bound:
        yield Reason(
            tell("the joint would give off more than {bound} W", bound=plain(bound)),
            tell("the joint would give off {watts} (bound: {bound} W)", watts=significant(max(heats), 'W', 2), bound=plain(bound)),
        )
