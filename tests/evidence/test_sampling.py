"""Samples of unknown loads: the laws they follow, and their settled states against closed forms and the single solver."""

from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from scipy import stats

from lostneutral.case import parse_case
from lostneutral.case.model import Break, Cross, Unknown
from lostneutral.case.seen import Spread
from lostneutral.circuit.network import network
from lostneutral.circuit.newton import first_guess, newton
from lostneutral.circuit.search import search
from lostneutral.circuit.wiring import wiring
from lostneutral.errors import UsageError
from lostneutral.evidence import sampling
from lostneutral.evidence.sampling import choice, draw, needs_single, quantity, solve, tied

HEAD = 'title = "samples"\n[supply]\n'
U = 230.0


def load(name, kind, power, connect, more=""):
    return f'[[load]]\nname = "{name}"\nkind = "{kind}"\npower = {power}\nconnect = "{connect}"\n{more}'


MIXED = HEAD + "".join(load(n, kind, p, f"L{line}-N") for n, kind, p, line in (
    ("lamp", "lamp", 60, 1), ("stove", "heater", 2000, 2), ("other", "lamp", 100, 3), ("rest", "resistive", 300, 2)))
CHANCES = {"lamp": 0.5, "stove": 0.3, "other": 0.8, "rest": 0.6}
SWITCHED = MIXED + "".join(f'[[unknown]]\nload = "{n}"\non = {p}\n' for n, p in CHANCES.items())


@pytest.mark.parametrize("spread, law", [
    (Spread(10.0, 30.0), stats.uniform(10, 20)),
    (Spread(0.1, 1e4, scale="log"), stats.loguniform(0.1, 1e4)),
    (Spread(mean=60.0, deviation=5.0), stats.norm(60, 5)),
    (Spread(mean=10.0, deviation=20.0), stats.truncnorm(-0.5, np.inf, 10, 20)),
], ids=["uniform", "log", "normal", "normal cut at nought"])
def test_laws_of_a_spread(spread, law):
    # independent: the laws of scipy.stats
    share = np.linspace(0.001, 0.999, 57)
    assert quantity(spread, share) == pytest.approx(law.ppf(share), rel=1e-9)


def test_the_samples_do_not_depend_on_how_they_are_cut():
    # invariant: one seed, one sequence, and one answer to each sample
    case = parse_case(SWITCHED)
    whole = draw(case, 700, 5)
    parts = [draw(case, size, 5, first) for first, size in ((0, 1), (1, 299), (300, 400))]
    assert (np.concatenate([p.values for p in parts]) == whole.values).all()
    together, apart = solve(whole), [solve(p) for p in parts]
    assert np.nan_to_num(np.concatenate([p.loads for p in apart])) == pytest.approx(np.nan_to_num(together.loads), abs=1e-9)
    assert (draw(case, 700, 6).values != whole.values).any()


def test_nothing_unknown_is_refused():
    with pytest.raises(UsageError, match="Nothing is unknown"):
        draw(parse_case(MIXED), 8, 1)


def test_one_of_several():
    # independent: the probabilities as given
    unknown = Unknown(one_of=("a", "b", "c"), weights=(2.0, 1.0, 1.0), none=0.2)
    share = (np.arange(10_000) + 0.5) / 10_000
    got = [float(np.mean(choice(unknown, share) == k)) for k in (-1, 0, 1, 2)]
    assert got == pytest.approx([0.2, 0.4, 0.2, 0.2], abs=1e-3)
    assert (choice(Unknown(one_of=("a", "b")), np.array([0.0, 0.49, 0.51, 1 - 1e-12])) == [0, 0, 1, 1]).all()


def test_only_one_of_several_is_on():
    case = parse_case(MIXED + '[[unknown]]\none_of = ["lamp", "stove"]\nnone = 0.25\n')
    on = draw(case, 4096, 2).on
    assert not (on[:, 0] & on[:, 1]).any()
    assert on[:, 2:].all()
    assert on[:, :2].mean(axis=0) == pytest.approx([0.375, 0.375], abs=0.01)  # independent: (1 − 0.25) / 2


def single(case, on, breaks=None):
    """The neutral of one combination, by the solver of a single case; None where it floats."""
    loads = tuple(replace(one, on=bool(o)) for one, o in zip(case.loads, on))
    net = network(wiring(replace(case, loads=loads), case.breaks if breaks is None else breaks))
    if ("intake", "N") not in net.node:
        return None
    found = newton(net, first_guess(net, U))
    assert found.solved
    return found.voltages[net.node["intake", "N"]]


def test_every_combination_against_its_sample():
    # independent: all sixteen combinations solved by themselves and weighted with their exact probability
    case = parse_case(SWITCHED)
    exact = {}
    for on in product((False, True), repeat=4):
        chance = np.prod([p if o else 1 - p for o, p in zip(on, CHANCES.values())])
        exact[on] = chance, single(case, on)
    drawn = draw(case, 16_384, 3)
    found = solve(drawn)
    neutral = found.nodes["intake", "N"]
    for on, (chance, volts) in exact.items():
        here = (found.on == on).all(axis=1)
        assert found.weight[here].sum() == pytest.approx(chance, abs=0.004)
        if volts is None:
            assert np.isnan(neutral[here]).all()
        else:
            assert neutral[here] == pytest.approx(np.full(here.sum(), volts), abs=1e-5)
    high = np.abs(found.nodes["intake", "L1"] - neutral) > 253.0
    wanted = sum(c for c, v in exact.values() if v is not None and abs(U - v) > 253.0)
    assert found.weight[high].sum() == pytest.approx(wanted, abs=0.01)


def test_two_resistances_of_which_one_is_not_known():
    # independent: closed form, V across the known one = √3 U P2 / (P1 + P2), which rises with P2
    case = parse_case(HEAD + load("a", "resistive", 500, "L1-N") + load("b", "resistive", 500, "L2-N")
                      + '[[unknown]]\nload = "b"\npower = { low = 100, high = 1900 }\n')
    volts = np.sort(np.abs(solve(draw(case, 8192, 4)).loads[:, 0]))
    for share in (0.05, 0.5, 0.95):
        power = 100 + 1800 * share
        assert volts[int(share * 8192)] == pytest.approx(3**0.5 * U * power / (500 + power), rel=2e-3)


def test_a_joint_of_unknown_resistance_and_a_supply_of_unknown_voltage():
    # independent: closed form, one load of 52.9 ohm (1 kW) in series with the joint
    case = parse_case(HEAD + load("a", "resistive", 1000, "L1-N") + '[[unknown]]\nbreak = "intake"\nresistance = '
                      '{ low = 1, high = 1e4, scale = "log" }\n[[unknown]]\nsupply_voltage = { low = 220, high = 240 }\n')
    drawn = draw(case, 500, 9)
    (_, joint), = drawn.of("resistance")
    (_, supply), = drawn.of("supply_voltage")
    assert np.abs(solve(drawn).loads[:, 0]) == pytest.approx(supply * 52.9 / (52.9 + joint), rel=1e-9)


def test_breaks_and_exchanges_of_the_case_are_in_every_sample():
    case = replace(parse_case(SWITCHED), breaks=())
    solved = lambda **more: solve(draw(replace(case, **more), 64, 1))
    sound = solved()
    assert np.abs(sound.between(("intake", "L1"), ("intake", "N"))) == pytest.approx(np.full(64, U))  # practice
    lost = solved(breaks=(Break("intake", "L1"),))
    assert np.abs(lost.loads[lost.on[:, 0], 0]).max(initial=0.0) == pytest.approx(0.0, abs=1e-9)  # practice: a lost line
    crossed = solved(crosses=(Cross("intake", ("L1", "N")),))
    assert np.abs(crossed.between(("intake", "L2"), ("intake", "N"))) == pytest.approx(np.full(64, U * 3**0.5))  # practice
    joint = solved(breaks=(Break("intake", "N", 3.0),))
    one = np.flatnonzero(joint.on.any(axis=1))[0]
    wanted = single(case, joint.on[one], (Break("intake", "N", 3.0),))  # independent: the solver of a single case
    assert joint.nodes["intake", "N"][one] == pytest.approx(wanted, abs=1e-5)


def test_an_electrode_that_is_unknown_is_in_series_with_that_of_the_supply():
    # closed form: one load of 23 ohm, the broken PEN's metalwork on its own electrode, the supply's of 2 ohm
    case = parse_case('title = "t"\n[supply]\nearthing = "TN-C-S"\nelectrode = 2\n' + load("a", "resistive", 2300, "L1-N")
                      + '[[unknown]]\npoint = "intake"\nelectrode = { low = 10, high = 200, scale = "log" }\n')
    drawn = draw(case, 100, 9)
    ohms = 10 * 20 ** drawn.values[:, 0]
    assert np.abs(solve(drawn).loads[:, 0]) == pytest.approx(230 * 23 / (23 + 2 + ohms), rel=1e-9)
    supply = parse_case(case.source.replace('point = "intake"\nelec', 'point = "supply"\nelec').replace("[[load]]", '[[point]]\nname = "intake"\nelectrode = 7\n[[load]]'))
    assert np.abs(solve(draw(supply, 100, 9)).loads[:, 0]) == pytest.approx(230 * 23 / (23 + 7 + ohms), rel=1e-9)


def test_what_is_tied_down_is_joined_through_what_conducts():
    # count: of a chain of two loads from L1 over a star of their own the far end is tied down only while both conduct
    case = parse_case('title = "t"\n[supply]\n' + load("a", "resistive", 500, "L1-N") + load("saw", "motor", 500, "L1-L2-L3")
                      + load("b", "resistive", 500, "L2-N"))
    net = network(wiring(case, case.breaks))
    n = net.node["intake", "N"]
    conducting, on = np.ones((3, len(net.elements)), bool), np.zeros((3, len(net.models)), bool)
    owner = [net.wiring.branches[k].load for k in net.branch_number]
    on[1, owner.index(0)] = on[2, owner.index(2)] = True
    held = tied(net, conducting, on)
    assert held[:, n].tolist() == [False, True, True] and held[:, net.free:].all()


def test_of_a_load_on_three_lines_the_highest_counts():
    case = parse_case('title = "t"\n[supply]\nphasors = { L1 = [230, 0], L2 = [200, -120], L3 = [240, 120] }\n' + load("delta", "resistive", 900, "L1-L2-L3")
                      + load("a", "resistive", 500, "L1-N") + '[[unknown]]\nload = "a"\non = 0\n')
    a, c = case.supply.phasors["L1"], case.supply.phasors["L3"]
    assert np.abs(solve(draw(case, 2, 1)).loads) == pytest.approx(np.array([[abs(a - c), np.nan]] * 2), nan_ok=True)


EVENING = HEAD + "".join(f'[[load]]\nname = "{n}"\nkind = "appliance"\nmodel = "{model}"\nconnect = "L1-N"\n{more}'
                         for n, model, more in (("Tea", "kettle", ""), ("Hot", "oven", "on = true\n"), ("Ironing", "iron", ""),
                                                ("Light", "filament lamp", "")))


def test_a_household_s_evening():
    case = parse_case(EVENING + '[[unknown]]\nhousehold = "evening"\n[[unknown]]\nload = "Ironing"\non = 0.9\n')
    chances = {u.load: u.on for u in case.unknowns}
    assert "Hot" not in chances  # its switch is given
    assert chances["Ironing"] == 0.9  # what the case says of a load comes first
    said = {a.subject: a for a in case.assumptions if a.what == "probability that it was on"}
    assert set(said) == {"load 'Tea'", "load 'Light'"}
    assert all("evening" in a.why and "assumption of this program" in a.why for a in said.values())


SUPPLIES = HEAD + "".join(load(f"s{line}", "electronic", 100, f"L{line}-N", 'front_end = "corrected"\n')
                          for line in (1, 2, 3))


def test_every_settled_state_has_its_share():
    # independent: the search of a single case, which maps the star point for every change of sign
    case = parse_case(SUPPLIES + '[[unknown]]\nload = "s3"\npower = { low = 99, high = 101 }\n')
    found = solve(draw(case, 6, 1))
    assert needs_single(case) == ("s1", "s2", "s3")
    assert found.solved.all() and found.weight.sum() == pytest.approx(1.0)
    net = network(wiring(case, case.breaks))
    wanted = sorted(abs(s.root.voltages[net.node["intake", "N"]]) for s in search(net, U)[0] if s.growth < 0)
    assert len(wanted) == 3
    for sample in range(6):
        here = found.sample == sample
        assert found.weight[here] == pytest.approx(np.full(3, 1 / 18))
        assert sorted(np.abs(found.nodes["intake", "N"][here])) == pytest.approx(wanted, abs=1.0)


def test_samples_that_are_alike_are_solved_once(monkeypatch):
    # invariant: solving one of those that are alike changes no answer
    case = parse_case(SUPPLIES + load("lamp", "lamp", 60, "L1-N") + '[[unknown]]\nload = "s3"\non = 0.5\n')
    seen, whole = [], sampling.states_of_many
    monkeypatch.setattr(sampling, "states_of_many", lambda net, samples, *rest: seen.append(samples.size) or
                        whole(net, samples, *rest))
    found = solve(draw(case, 16, 1))
    assert seen == [2] and found.weight.sum() == pytest.approx(1.0)
    assert set(found.sample) == set(range(16))


def test_nothing_on_floats():
    # practice: a neutral that nothing ties down has no voltage, and is not given one
    found = solve(draw(parse_case(SWITCHED), 2048, 1))
    idle = ~found.on.any(axis=1)
    assert idle.any() and np.isnan(found.nodes["intake", "N"][idle]).all() and np.isnan(found.loads[idle]).all()
    assert np.isfinite(found.nodes["intake", "N"][~idle]).all()
