"""Many samples solved as arrays, against the solver of one case."""

from dataclasses import replace

import numpy as np
import pytest

from lostneutral.case import parse_case
from lostneutral.case.model import Break
from lostneutral.circuit import many
from lostneutral.circuit.many_states import states_of_many
from lostneutral.circuit.network import network
from lostneutral.circuit.newton import first_guess, newton
from lostneutral.circuit.search import search
from lostneutral.circuit.wiring import wiring
from lostneutral.loads import load_model

LOADS = (("lamp", 60, 1), ("heater", 2000, 2), ("resistive", 100, 3), ("lamp", 100, 2), ("resistive", 500, 1))
CASE = parse_case('title = "samples"\n[supply]\n' + "".join(
    f'[[load]]\nname = "{n}"\nkind = "{kind}"\npower = {power}\nconnect = "L{line}-N"\n'
    for n, (kind, power, line) in enumerate(LOADS)))
NET = network(wiring(CASE, CASE.breaks))
SIZE = 60
RANDOM = np.random.default_rng(7)
ON = (RANDOM.random((SIZE, len(LOADS))) < 0.6).astype(float)
ON[:, :2] = 1.0  # something on two lines, so that every star point is tied down
POWERS = RANDOM.uniform(40.0, 200.0, SIZE)


def one_by_one(sample):
    # independent: the solver of a single case, with the sample's own loads
    model = load_model(replace(CASE.loads[0], parameters={"power": POWERS[sample]}), CASE.supply)[0]
    net = replace(NET, models=(model, *NET.models[1:]), count=ON[sample])
    root = newton(net, first_guess(net, 230.0))
    assert root.solved
    return root.voltages


def all_together():
    lamp = load_model(replace(CASE.loads[0], parameters={"power": POWERS}), CASE.supply)[0]
    return many.solve_many(NET, many.Samples(SIZE, models=(lamp, *NET.models[1:]), count=ON), 230.0)


def test_samples_agree_with_single_cases():
    together = all_together()
    assert together.solved.all()
    for sample in range(SIZE):
        assert together.voltages[sample] == pytest.approx(one_by_one(sample), abs=1e-5)


def test_chunks_do_not_change_the_answer(monkeypatch):
    # invariant: how many samples are solved at a time is of no consequence
    whole = all_together()
    monkeypatch.setattr(many, "CHUNK", 7)
    assert all_together().voltages == pytest.approx(whole.voltages, abs=1e-6)


def test_loads_that_may_settle_in_several_ways_are_refused():
    # invariant: no one of several settled states is given as the answer
    case = parse_case('title = "t"\n[supply]\n[[load]]\nname = "s"\nkind = "electronic"\npower = 100\nconnect = "L1-N"\n')
    with pytest.raises(ValueError, match="rises"):
        many.solve_many(network(wiring(case, case.breaks)), many.Samples(3), 230.0)


APPLIANCES = parse_case('title = "several"\n[supply]\n' + "".join(
    f'[[load]]\nname = "{k}"\nkind = "appliance"\nmodel = "{model}"\nconnect = "L{line}-N"\n' for k, (model, line) in enumerate(
        (("television", 1), ("desktop computer", 2), ("television", 3), ("fridge", 1), ("kettle", 2), ("filament lamp", 3)))))


@pytest.mark.thorough
def test_every_settled_state_of_samples_is_that_of_the_search():
    # independent: the search of a single case, which follows changes of sign on maps of the star point
    net = network(wiring(APPLIANCES, APPLIANCES.breaks))
    on = np.array([[1, 1, 1, 0, 0, 0], [0, 0, 0, 1, 0, 1], [0, 0, 0, 1, 1, 1], [1, 0, 0, 1, 1, 0], [1, 1, 1, 0, 1, 1]], float)
    found = states_of_many(net, many.Samples(len(on), count=on), 230.0)
    neutral = found.voltages[:, net.node["intake", "N"]]
    for sample, which in enumerate(on):
        loads = tuple(replace(one, on=bool(o)) for one, o in zip(APPLIANCES.loads, which))
        alone = network(wiring(replace(APPLIANCES, loads=loads), APPLIANCES.breaks))
        roots = [s for s in search(alone, 230.0)[0] if s.growth < 0]
        wanted = [s.root.voltages[alone.node["intake", "N"]] for s in roots]
        got = list(neutral[found.sample == sample])
        assert len(got) == len(wanted)
        assert all(min(abs(z - w) for w in wanted) < 0.05 for z in got)
    assert max(np.bincount(found.sample)) > 1  # the states of some are several


def test_slow_samples_do_not_change_the_quick_ones():
    # invariant: samples leave the arrays as they are solved, and each goes its own way
    whole = all_together()
    some = np.arange(0, SIZE, 3)
    lamp = load_model(replace(CASE.loads[0], parameters={"power": POWERS}), CASE.supply)[0]
    part = many.take(many.Samples(SIZE, models=(lamp, *NET.models[1:]), count=ON), some)
    assert many.solve_many(NET, part, 230.0).voltages == pytest.approx(whole.voltages[some], abs=1e-9)


def test_samples_with_a_joint_and_a_supply_of_their_own():
    # independent: the solver of a single case with that joint and that supply
    net = network(wiring(CASE, (Break("intake", "N", 5.0),)))
    joint, factor = np.array([5.0, 50.0, 0.5]), np.array([1.0, 1.1, 0.9])
    element = np.tile(net.element_admittance, (3, 1))
    element[:, [k for k, e in enumerate(net.elements) if e.impedance == 5.0]] = 1 / joint[:, None]
    together = many.solve_many(net, many.Samples(3, element_admittance=element, fixed=net.fixed * factor[:, None]), 230.0)
    for k, ohms in enumerate(joint):
        single = network(wiring(CASE, (Break("intake", "N", ohms),)))
        single = replace(single, fixed=single.fixed * factor[k])
        assert together.voltages[k] == pytest.approx(newton(single, first_guess(single, 230.0)).voltages, abs=1e-5)
