"""What learners build: the star at extra-low voltage, of parts that can be bought, and what the solver says it will do."""

from functools import cached_property
from math import inf, isinf, log, log10

from lostneutral import data
from lostneutral.case.model import Break, Case, Load, Point, Supply
from lostneutral.circuit.solution import Solution
from lostneutral.circuit.states import before_and_after
from lostneutral.consequences.equipment import brightness
from lostneutral.consequences.pulses import trusted
from lostneutral.frozen import dataclass
from lostneutral.loads import load_model
from lostneutral.loads.catalogue import resolve
from lostneutral.report.base.words import significant
from lostneutral.result import Result
from lostneutral.teaching.star import (
    ADDS_UP,
    NotAStar,
    Star,
    broken_neutral,
    broken_run,
    main_point,
    star_loads,
)
from lostneutral.words.amounts import plain
from lostneutral.words.language import tell, to_tell

POINT = "bench"
NEGLIGIBLE = 1e-6  #: of the nominal voltage; what is smaller came from rounding
OWN_LAW = "its power factor and its own law are lost"
LOST = to_tell({
    "motor": "starting, stalling and power factor are lost",
    "electronic": "constant power and shutting down are lost",
    "ptc_heater": "its nearly constant power is lost",
    "varistor": "its conduction at high voltage is lost",
})


@dataclass(frozen=True)
class Bench:
    """A star at bench voltage: one load a line, with the link in the neutral and without it (or a resistor in its place)."""

    system: str  #: "three-phase" | "split-phase": the two-battery lesson
    kind: str  #: "lamp" | "resistive"
    why_not_own: str  #: why it is not the case's own star but the nearest that works; "" if it is
    lost: tuple[str, ...]  #: what scaling loses, a sentence each
    rated: dict[str, float]  #: line -> W at the bench voltage
    stands_for: dict[str, str]  #: line -> names of the loads that it stands for
    case: Case

    @cached_property
    def states(self) -> tuple[Solution, Solution]:
        """Return the settled states (before, after)."""
        return tuple(state.reached for state in before_and_after(self.case))

    @property
    def before(self) -> Solution:
        return self.states[0]

    @property
    def after(self) -> Solution:
        return self.states[1]

    @property
    def lines(self) -> tuple[str, ...]:
        """Return the lines that have a load."""
        return tuple(self.rated)

    @property
    def volts(self) -> float:
        """Return the nominal voltage (V) from a line to the neutral."""
        return self.case.supply.nominal

    @property
    def joint(self) -> float:
        """Return what takes the link's place, in ohm; inf: nothing, the link is out."""
        return self.case.breaks[0].resistance

    @property
    def out(self) -> str:
        """Return what a class calls the state after: "link out" or "resistor in"."""
        return "link out" if isinf(self.joint) else "resistor in"

    @property
    def joint_watts(self) -> float:
        """Return the heat (W) of the resistor in the link's place."""
        return 0.0 if isinf(self.joint) else self.joint * self.amps("N", self.after) ** 2

    def ohms(self, line: str) -> float:
        """Return the resistance (ohm) of a load at bench voltage (of a lamp: hot)."""
        return self.volts**2 / self.rated[line]

    def load(self, line: str, solution: Solution):
        """Return the LoadResult of a line's load."""
        return next(x for x in solution.loads if x.connect[0] == line)

    def volt(self, line: str, solution: Solution) -> float:
        """Return the voltage (V) between a line and N."""
        return abs(solution.voltage(POINT, line))

    def amps(self, conductor: str, solution: Solution) -> float:
        """Return the current (A) of a line or the neutral."""
        return abs(solution.currents[POINT, conductor])

    @property
    def hottest(self) -> dict[str, float]:
        """Return {line: W}, the larger of both states."""
        return {line: max(self.load(line, s).power for s in self.states) for line in self.lines}

    @property
    def largest_current(self) -> float:
        """Return the largest current (A) of any line in both states."""
        return max(self.amps(line, s) for line in self.lines for s in self.states)

    @property
    def fuse(self) -> float:
        """Return the rating (A) of the fuse link in each line: the smallest listed that carries the current with its margin."""
        table = data.load("lesson")["bench"]["fuses"]
        return next(r for r in table["rating"] if r >= table["margin"] * self.largest_current)


def _line_powers(case: Case) -> dict[str, float]:
    """Return {line: W by the rating plates, at the supply's nominal voltage} of what stands between a line and the neutral.

    NotAStar if fewer than two lines have a load, or one has a reactance instead of a rated power.
    """
    powers = {}
    for load in star_loads(case):
        behind, model = resolve(load), load_model(load, case.supply)[0]
        if model.clamp is not None and "power" not in behind.parameters:  # a surge part draws nothing at these voltages
            continue
        if "power" not in behind.parameters:
            raise NotAStar(tell("“{name}”: a coil or capacitor, which no resistor replaces", name=load.name))
        watts = behind.parameters["power"] * load.count
        if model.resistor_like:
            watts *= (case.supply.nominal / load.voltage) ** 2
        powers[load.connect[0]] = powers.get(load.connect[0], 0.0) + watts
    if len(powers) < 2:
        raise NotAStar(tell("only one line has a load, and there is no star to show"))
    return {line: powers[line] for line in case.supply.lines if line in powers}


def has_lamps_only(case: Case) -> bool:
    """Return whether all that stands on the broken neutral are filament lamps."""
    return all(load_model(load, case.supply)[0].gives_light for load in star_loads(case))


def bench(result: Result, system: str | None = None) -> Bench:
    """Return the bench version of `result`; `system` as of `Bench`, default: that of the case's supply.

    The case's own star where it is resistive, or where resistors in the place of its loads come within the bound `alike`
    of data file `lesson` of its voltages; else the nearest star that works, with the reason.
    """
    case, why, lost = result.case, "", ()
    system = system or case.supply.system
    names = {line: ", ".join(x.name for x in star_loads(case) if x.connect[0] == line) for line in case.supply.lines}
    try:
        powers = _line_powers(case)
        lost, kind = _lost(result, powers), "lamp" if has_lamps_only(case) else "resistive"
        scale = case.supply.nominal**2 / max(powers.values())
    except NotAStar as reason:
        table = data.load("lesson")["bench"]["nearest"]
        why, powers, kind = str(reason), table[case.supply.system], "lamp"
        names = dict.fromkeys(powers, "")
        scale = None
    if system != case.supply.system and system == "split-phase":
        heavy, light = max(powers, key=powers.get), min(reversed(powers), key=powers.get)
        names = {"L1": names[heavy], "L2": names[light]}
        powers = {"L1": powers[heavy], "L2": powers[light]}
        lost = (*lost, tell("Two batteries have no third line: what the third load and the phase angles do is not shown."))
    elif system != case.supply.system:
        raise NotAStar(tell("a split-phase case has two lines and cannot be built on a three-phase supply"))
    return _bought(case, system, kind, powers, why, lost, names, scale)


def _bought(case, system, kind, powers, why, lost, names, scale):
    """Return the Bench with `powers` (W, in their proportion) in parts of `kind` that can be bought."""
    volts = data.load("lesson")["bench"][system]["voltage"]
    try:
        rated = _parts(kind, volts, powers)
    except NotAStar:
        kind, rated = "resistive", _parts("resistive", volts, powers)
    joint = broken_neutral(case).resistance
    if not isinf(joint):
        # Without a scale the star is not the case's own, and neither would its joint be.
        joint = inf if scale is None else _nearest_ohm(joint * volts**2 / max(rated.values()) / scale)
    return Bench(
        system,
        kind,
        why,
        lost,
        rated,
        {line: names[line] for line in rated},
        plain_star(system, volts, rated, kind, joint),
    )


def _lost(result, powers):
    """Return what a bench version of resistors (or lamps) loses against the case. NotAStar where it loses what matters."""
    case, table, said = result.case, data.load("lesson")["bench"], []
    foreign = [load for load in star_loads(case) if not load_model(load, case.supply)[0].resistor_like]
    if foreign and trusted(result):
        raise NotAStar(tell("“{name}”: current drawn in pulses, which no resistor does", name=foreign[0].name))
    after, point = result.after.reached, main_point(case)
    if foreign and after is None:
        raise NotAStar(tell("the loads leave it open which line goes high, and no resistors do that"))
    if after is not None:
        own = before_and_after(
            plain_star(case.supply.system, case.supply.nominal, powers, joint=broken_neutral(case).resistance)
        )[1]
        off = {
            line: abs(abs(v) - abs(own.reached.voltage(POINT, line)))
            for line in powers
            if (v := after.voltage(point, line)) is not None
        }
        worst = max(off, key=off.get, default=None)
        if foreign and (worst is None or off[worst] > table["alike"]["value"] * case.supply.nominal):
            raise NotAStar(tell("“{name}”: the voltages are others than those that resistors give", name=foreign[0].name))
        if worst and off[worst] > table["told"]["value"] * case.supply.nominal and not has_lamps_only(case):
            said.append(

                    tell("The case itself is not quite like resistors: {line} differs by {off} V of {nominal} V.", line=worst,
                     off=plain(off[worst], ".0f"), nominal=plain(case.supply.nominal))

            )
        said += _ways_back(case, after)
    for load in foreign:
        said.append(
            tell("“{name}”: replaced by a resistor of the rated power: {lost}.", name=load.name, lost=tell(LOST.get(resolve(load).kind, OWN_LAW)))
        )
    if not has_lamps_only(case) and (lamps := [x for x in star_loads(case) if load_model(x, case.supply)[0].gives_light]):
        said.append(
            tell("1 lamp is replaced by a fixed resistor: its light, and the rise of its resistance with temperature, are lost.")
            if len(lamps) == 1 else
            tell("{number} lamps are replaced by fixed resistors: their light, and the rise of their resistance with temperature, are "
                 "lost.", number=len(lamps))
        )
    if len({load.point for load in star_loads(case)}) > 1:
        said.append(tell("The loads are at several places: the voltage drops between them are left out."))
    return tuple(said)


def _ways_back(case, after):
    amps = [after.currents.get((broken_run(case), c)) for c in (*case.point(broken_run(case)).phases, "N")]
    if None not in amps and abs(sum(amps)) > ADDS_UP * max(map(abs, amps)):
        yield tell("Part of the current returns through earth or metalwork in the case; on the bench there is no such path.")


def _parts(kind, volts, powers):
    """Return {line: W at `volts`} of parts that can be bought, in the proportion of `powers`. NotAStar if none comes near."""
    table = data.load("lesson")["bench"]
    if kind == "lamp":
        ratings = table["lamps"][f"{volts:g}"]
        choices = [_nearest(powers, top, ratings) for top in ratings]
    else:
        values = [m * 10.0**d for d in range(7) for m in table["resistors"]["series"]]
        least = volts**2 / table["resistors"]["largest_load"]
        watts = [volts**2 / ohm for ohm in values]
        choices = [_nearest(powers, volts**2 / top, watts) for top in values if 0.95 * least <= top <= 2 * least]
    error, rated = min(choices, key=lambda pair: (round(pair[0], 6), sum(pair[1].values())))
    if error > log(table["close_enough"]["ratio"]):
        raise NotAStar(
            tell("no lamps for {volts} V stand in the ratio of these loads", volts=plain(volts)) if kind == "lamp" else
            tell("no resistors for {volts} V stand in the ratio of these loads", volts=plain(volts))
        )
    return rated


def _nearest(powers, top, ratings):
    """Return (largest error as a logarithm, {line: rating}) with the largest power at `top`."""
    scale = top / max(powers.values())
    rated = {line: min(ratings, key=lambda r, w=watts: abs(log(r / (w * scale)))) for line, watts in powers.items()}
    errors = [log(rated[line] / (watts * scale)) for line, watts in powers.items()]
    return max(errors) - min(errors), rated


def _nearest_ohm(ohms):
    values = [m * 10.0**d for d in range(-1, 7) for m in data.load("lesson")["bench"]["resistors"]["series"]]
    return min(values, key=lambda r: abs(log(r / ohms)))


def plain_star(
    system: str, volts: float, powers: dict[str, float], kind: str = "resistive", joint: float = inf
) -> Case:
    """Return a case of one load a line on an ideal source of `volts` to neutral, with `joint` (ohm) in its neutral.

    `powers` {line: W at `volts`}.
    """
    turn = complex(-0.5, 0.75**0.5)
    phasors = (
        {"L1": volts + 0j, "L2": -volts + 0j}
        if system == "split-phase"
        else {"L1": volts + 0j, "L2": volts / turn, "L3": volts * turn}
    )
    source = Supply(phasors=phasors, system=system, nominal=volts)
    loads = tuple(
        Load(f"load on {line}", kind, (line, "N"), POINT, volts, parameters={"power": watts})
        for line, watts in powers.items()
    )
    return Case(
        "bench version", source, (Point(POINT, phases=source.lines),), loads, breaks=(Break(POINT, "N", joint),)
    )


def star_of(case: Case, solution: Solution) -> Star:
    """Return the star of `case`, a `plain_star`, in its settled state `solution`."""
    corners, neutral = {line: solution.nodes[POINT, line] for line in case.supply.lines}, solution.nodes[POINT, "N"]
    weights = {load.connect[0]: (load.current / load.voltage).real for load in solution.loads if load.voltage}
    moved = abs(neutral) > NEGLIGIBLE * case.supply.nominal
    return Star(corners, neutral, weights, 1 / case.breaks[0].resistance if moved else 0.0)


def resistor_rating(watts: float) -> float:
    """Return the rating (W) to buy for a resistor that gives off `watts`; the largest listed if none is enough."""
    table = data.load("lesson")["bench"]["resistor_ratings"]
    return next((r for r in table["power"] if r >= table["margin"] * watts), table["power"][-1])


BRIGHTNESS = to_tell({"out": "out", "dimmer": "dimmer", "unchanged": "unchanged", "brighter": "brighter", "glaring": "too bright"})


def light_words(times: float) -> str:
    """Return a lamp's light, as a multiple of before, in the words of a class: out, dimmer, unchanged, brighter, too bright."""
    word = brightness(times)
    return tell(BRIGHTNESS[word])


def amp_words(amps: float) -> str:
    """Return a current as an ammeter shows it: "0.551 A", "10.9 mA"."""
    return significant(1e3 * amps, "mA") if 0 < amps < 0.1 else significant(amps, "A")


def ohm_words(ohms: float) -> str:
    """Return a resistance as it is marked: "56 Ω", "1.2 kΩ"."""
    return f"{plain(ohms / 1000, '.3g')} kΩ" if log10(ohms) >= 3 - 1e-9 else f"{plain(ohms, '.3g')} Ω"
