"""Samples whose loads may settle in several ways: each solved by itself, with every settled state that attracts."""

from dataclasses import replace

import numpy as np

from lostneutral.case.model import Break
from lostneutral.circuit.network import network
from lostneutral.circuit.states import settled_states
from lostneutral.circuit.wiring import wiring
from lostneutral.errors import NoSolutionError


def one_by_one(setup, rows, tick=None):
    """Return the `Solved` rows of the samples `rows` of `setup`; samples that are alike are solved once."""
    from lostneutral.evidence.sampling import Solved

    known, sample, solutions = {}, [], []
    for row in rows:
        case, breaks = sample_case(setup, row)
        key = (tuple((load.on, load.parameters.get("power")) for load in case.loads), breaks,
               tuple(case.supply.phasors.values()))
        if key not in known:
            known[key] = _attracting(case, breaks)
        for found in known[key] or (None,):
            sample.append(row)
            solutions.append(found)
        if tick:
            tick(1)
    case = setup.draw.case
    terminals = next((list(s.nodes) for s in solutions if s is not None), [])
    nodes = {t: _volts(None if s is None else s.nodes.get(t) for s in solutions) for t in terminals}
    loads = np.stack([_volts(None if s is None else s.loads[k].voltage for s in solutions)
                      for k in range(len(case.loads))], axis=1)
    return Solved(np.array(sample), np.ones(len(sample)), loads, setup.draw.on[sample], nodes,
                  np.array([s is not None for s in solutions]))


def _volts(values):
    return np.array([complex(np.nan) if v is None else v for v in values], complex)


def sample_case(setup, row):
    """Return (Case, breaks in force) of one sample."""
    draw = setup.draw
    powers = {u.load: float(values[row]) for u, values in draw.of("power")}
    loads = tuple(replace(load, on=bool(on), parameters={**load.parameters, "power": powers[load.name]}
                          if load.name in powers else load.parameters)
                  for load, on in zip(draw.case.loads, draw.on[row]))
    factor = float(setup.factor[row])
    phasors = {line: v * factor for line, v in draw.case.supply.phasors.items()}
    breaks = {**setup.breaks, **{key: Break(*key, float(values[row])) for key, values in setup.ohms.items()}}
    case = replace(draw.case, loads=loads, supply=replace(draw.case.supply, phasors=phasors), crosses=tuple(setup.crosses))
    return case, tuple(breaks.values())


def _attracting(case, breaks):
    try:
        state, _ = settled_states(case, "after", network(wiring(case, breaks, case.crosses)))
    except NoSolutionError:
        return ()
    return tuple(s for s in state.solutions if s.attracting)
