"""What waveforms mean: the result with states, harms and findings as the waveforms have them."""

from cmath import rect
from dataclasses import field, replace
from math import nan, radians, sqrt

from lostneutral.circuit.solution import LoadResult, Solution, State
from lostneutral.circuit.waveform.parts import bridge_of
from lostneutral.consequences.harm import harms
from lostneutral.frozen import dataclass
from lostneutral.loads import load_model


@dataclass(frozen=True)
class WaveSolution(Solution):
    """A state of which `voltage` between a line and N gives the true r.m.s. value at the fundamental's angle.

    `nodes` and `currents` have that of each neutral and conductor by itself, so that they add up only as far as they
    are sines, and no residual is given; protective conductors and earth are as the phasors have them, but where they are one with the neutral.
    """

    phases: dict = field(default_factory=dict)  #: (point, line) -> complex V line to neutral, None = floating

    def voltage(self, point, a, b="N"):
        return self.phases[point, a] if b == "N" and (point, a) in self.phases else super().voltage(point, a, b)


def trusted(result):
    """Return whether the waveforms, and not the phasors, say what the circuit did."""
    return result.waveforms is not None and result.waveforms.trusted


def of_waveforms(result):
    """Return `result`, whose waveforms are to be trusted, with their states and harms; `sines` keeps its own.

    A rectifier load is harmed as by the sine that would fill its link as high. Currents in the earth and protective
    conductors are those of the phasors, and so are readings with the loads off.
    """
    case, waves = result.case.at_the_end(), result.waveforms
    before = State("before", (), "undecided", result.before.reason) if waves.before is None else State(
        "before", (_solution(case, waves.before, result.before),))
    solution = _solution(case, waves.after, result.after)
    cycles = waves.after.ends == "cycle"
    after = State("after", (replace(solution, reached=not cycles),), "cycle" if cycles else "settled",
                  f"Voltages are r.m.s. over one turn of {waves.after.duration:.3g} s." if cycles else "",
                  cycle=_as_felt(case, waves.after) if cycles else None,
                  passing=tuple(_extreme(solution, waves.after.cycle, end) for end in ("highest", "lowest")) if cycles else ())
    return replace(result, before=before, after=after, harms=harms(case, before, after), sines=result)


def _solution(case, state, phasors):
    # For what the waveforms leave out: the protective conductor and the earth.
    lines = phasors.reached or next(iter(phasors.solutions), None)
    nodes = dict(lines.nodes) if lines else {}
    for point, wave in state.stars.items():
        was, earth = nodes.get((point, "N")), nodes.get((point, "PE"))
        nodes[point, "N"] = _phasor(wave)
        if None not in (was, earth) and abs(was - earth) < 1e-9 * case.supply.nominal:
            nodes[point, "PE"] = nodes[point, "N"]  # one conductor, or joined there
    loads = tuple(_load(case, *pair) for pair in zip(case.loads, state.loads))
    currents = {**(lines.currents if lines else {}), **{key: _phasor(wave) for key, wave in state.currents.items()}}
    return WaveSolution(True, True, nan, nodes, currents, loads, lines.islands if lines else {},
                        lines.earth_currents if lines else {}, phases={key: _phasor(w) for key, w in state.phases.items()})


def _phasor(wave):
    return None if wave is None else rect(wave.rms, radians(wave.angles[0]))


def _load(case, load, seen):
    if seen.voltage is None:
        return LoadResult(load.name, load.connect, load.on, None, None, None, None, None)
    volts = _phasor(seen.voltage)
    if not load.on:
        return LoadResult(load.name, load.connect, False, volts, 0j, 0.0, 0.0, abs(volts) / load.voltage)
    model = load_model(load, case.supply)[0]
    met = model.sizes(abs(volts))
    told = {key: value.item() if hasattr(value, "item") else value for key, value in model.describe(model.settled(met), met).items()}
    if seen.link is not None:
        mean, _, highest = seen.link
        told |= {"link_voltage": mean, "capacitor_stress": highest / float(model.capacitor_rating),
                 "works": bool(mean > bridge_of(load).cut_off), "as_sine": _as_sine(load, highest),
                 "above_window": bool(_as_sine(load, highest) > model.works_to)}
    return LoadResult(load.name, load.connect, True, volts, _phasor(seen.current), seen.power, None,
                      abs(volts) / load.voltage, told)


def _extreme(solution, cycle, end):
    """Return `solution` with each line to neutral at the `end` ("highest" or "lowest") of its swing."""
    phases = {(point, line): volts and volts / abs(volts) * cycle["lines"][f"{point} {line}"][end]
              for (point, line), volts in solution.phases.items()}
    return replace(solution, phases=phases)


def _as_felt(case, state):
    """The figures of a cycle, the highest voltage of a rectifier being that of the sine that fills its link as high."""
    loads = dict(state.cycle["loads"])
    for load in case.loads:
        link = state.cycle["links"].get(load.name)
        if link is not None and load.name in loads:
            loads[load.name] = {**loads[load.name], "as_sine": _as_sine(load, link["highest"])}
    return {**state.cycle, "loads": loads}


def _as_sine(load, link):
    """Return the r.m.s. value (V) of the sine whose crest fills a link up to `link` (V)."""
    return (link + bridge_of(load).drop) / sqrt(2)
