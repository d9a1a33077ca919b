"""Every settled state of a cause, as `where` and `deduce` find them, against the search of a single case.

Kind of check: independent (two searches: of one circuit, by star points and modes; of many rows, from a map of a few).
"""

from dataclasses import replace

import numpy as np
import pytest
from daily import daily

from lostneutral import parse_case
from lostneutral.case.model import Break
from lostneutral.circuit.states import before_and_after
from lostneutral.evidence.reduced import SOON, STUCK, Reduced
from lostneutral.evidence.rivals import rivals
from lostneutral.evidence.settled import Maps, Neighbours
from lostneutral.evidence.world import World
from lostneutral.studies.conditions import Circumstance

STREET = """title = "street"
[supply]
line_impedance = [{source}, {source}]
[[group]]
name = "home"
count = {count}
spacing = {{ line = [{spacing}, 0.0] }}
service = {{ line = [0.03, 0.0] }}
load = [
  {{ name = "sets", kind = "electronic", power = {watts}, front_end = "corrected" }},
  {{ name = "lamps", kind = "lamp", power = 60, share = {lit} }},
]
"""
NOW = Circumstance()


def states_of(case, joint, maps, rows=1):
    """Voltages (V; states, homes) at the median that hold with the neutral open before `joint`, and their `States`."""
    world = World(case, [r for r in rivals(case) if r.kind == "open neutral" and r.at == joint], (NOW,))
    found = world.settle(np.zeros(rows, int), np.full((rows, len(world.columns)), 0.5), NOW, True, maps)
    return np.stack([np.abs(found.between((p.name, p.phases[0]), (p.name, "N"))) for p in case.points if p.kind != "joint"], axis=1)[found.solved], found


@pytest.mark.parametrize(("count", "watts", "lit", "spacing", "place"), daily([
    (21, 160, 0.5, 0.03, 0.0), (9, 400, 0.5, 0.05, 0.5), (30, 160, 0.5, 0.03, 0.0)], several=True))
def test_a_street_of_electronics_settles_in_as_many_ways(count, watts, lit, spacing, place):
    case = parse_case(STREET.format(count=count, watts=watts, lit=lit, spacing=spacing / count, source=1 / count))
    joint = f"home joint {1 + int(place * (count - 1) / 3) * 3}"
    wanted = before_and_after(replace(case, breaks=(Break(joint, "N"),)))[1]
    holding = [[abs(s.between((p.name, p.phases[0]), (p.name, "N"))) for p in case.points if p.kind != "joint"] for s in wanted.solutions if s.attracting]
    assert len(holding) > 1
    found, _ = states_of(case, joint, Maps(0))
    assert len(found) == len(holding)
    for one in holding:  # filters and cables move them by a few volts
        assert np.abs(found - one).max(axis=1).min() < 4.0


def test_states_that_are_known_are_found_again_from_themselves():
    case = parse_case(STREET.format(count=9, watts=400, lit=0.5, spacing=0.005, source=0.1))
    first, states = states_of(case, "home joint 1", Maps(0))
    again, _ = states_of(case, "home joint 1", Neighbours({0: (np.full((len(states.sample), len(states.world.columns)), 0.5), states)}), 2)
    assert len(first) > 1 and again == pytest.approx(np.concatenate([first, first]), abs=1e-5)
    alone, _ = states_of(case, "home joint 1", None)
    assert len(alone) == 1  # without anything to start from but the usual guess


def test_where_nothing_hangs_beyond_the_neutral_the_rest_settles_as_usual():
    # by hand: behind the shed's open neutral there is no load, so the set at the intake stands at its line's voltage
    case = parse_case('title = "t"\nsupply = {}\n[[point]]\nname = "house"\n[[point]]\nname = "shed"\nfed_from = "house"\n[[load]]\nname = "set"\n'
                      'kind = "electronic"\nconnect = "L1-N"\npower = 100\npoint = "house"\n')
    world = World(case, [r for r in rivals(case) if r.kind == "open neutral" and r.at == "shed"], (NOW,))
    found = world.settle(np.zeros(1, int), np.full((1, len(world.columns)), 0.5), NOW, True, Maps())
    assert found.solved.all() and np.abs(found.between(("house", "L1"), ("house", "N"))) == pytest.approx([230.0], abs=0.1)


@pytest.mark.parametrize("loads", daily([
    (("a", "resistive", "L1", 3000, "house"), ("b", "resistive", "L2", 200, "house"), ("s", "electronic", "L1", 300, "shed"),
     ("t", "electronic", "L2", 400, "shed"), ("u", "electronic", "L3", 350, "shed"), ("l", "lamp", "L2", 60, "shed")),
    (("a", "resistive", "L1", 3000, "house"), ("s", "electronic", "L1", 300, "shed"), ("t", "electronic", "L2", 200, "shed"), ("u", "resistive", "L3", 50, "shed")),
    (("a", "resistive", "L3", 3000, "house"), ("s", "electronic", "L1", 500, "shed"), ("t", "electronic", "L2", 200, "shed"), ("u", "electronic", "L3", 100, "shed"))]))
def test_two_neutrals_open_in_a_row_float_apart(loads):
    case = parse_case('title = "t"\nsupply = {}\n[[point]]\nname = "house"\n[[point]]\nname = "shed"\nfed_from = "house"\n' + "".join(
        f'[[load]]\nname = "{name}"\nkind = "{kind}"\nconnect = "{line}-N"\npower = {power}\npoint = "{point}"\n' for name, kind, line, power, point in loads))
    causes = [r for r in rivals(case) if {conductor for _, conductor in r.conductors} == {"N"} and all(map(np.isinf, r.conductors.values()))]
    assert sorted(len(r.conductors) for r in causes) == [1, 1, 2]  # each by itself first, so that none lends its map to both together
    world = World(case, causes, (NOW,))
    number, maps = next(n for n, r in enumerate(causes) if len(r.conductors) == 2), Maps(0)
    world.settle(np.arange(3), np.full((3, len(world.columns)), 0.5), NOW, True, maps)
    found = world.settle(np.array([number]), np.full((1, len(world.columns)), 0.5), NOW, True, maps)
    across = lambda state: np.stack([np.abs(state.between(("shed", line), ("shed", "N"))) for line in ("L1", "L2")], axis=-1)
    wanted = [across(s) for s in before_and_after(replace(case, breaks=causes[number].place.breaks))[1].solutions if s.attracting]
    assert found.solved.all() and len(wanted) == len(across(found)) > 1
    for one in wanted:
        assert np.abs(across(found) - one).max(axis=1).min() < 1.0


@pytest.mark.parametrize(("kind", "astray", "wanted"), [("electronic", False, [False]), ("electronic", True, [False, True]), ("source", False, [True])])
def test_star_points_beside_those_of_the_lumps_are_tried_only_where_these_may_miss_a_state(kind, astray, wanted, monkeypatch):
    # by hand: loads are lumped in their usual mode, which is one of two of a source; of the others the lumps have every state, unless they lead astray
    tried, states = [], Maps._states

    def counted(maps, world, numbers, condition, groups, beside):
        tried.append(len(beside) > 0)
        found = states(maps, world, numbers, condition, groups, beside)
        return dict.fromkeys(found, ()) if astray and not len(beside) else found

    monkeypatch.setattr(Maps, "_states", counted)
    case = parse_case('title = "t"\nsupply = {}\n[[point]]\nname = "house"\n[[point]]\nname = "shed"\nfed_from = "house"\n'
                      + "".join(f'[[load]]\nname = "{line}"\nkind = "{kind}"\nconnect = "{line}-N"\npower = {watts}\npoint = "shed"\n'
                                for line, watts in (("L1", 300), ("L2", 200))))
    world = World(case, [r for r in rivals(case) if r.kind == "open neutral" and r.at == "shed"], (NOW,))
    found = world.settle(np.zeros(1, int), np.full((1, len(world.columns)), 0.5), NOW, True, Maps(0))
    assert tried == wanted and found.solved.all() and len(found.solved) == (1 if kind == "source" else 2)


def test_a_start_near_nothing_is_given_up_sooner_where_another_of_its_row_has_led_to_a_state(monkeypatch):
    # by hand: of two sets in series between two lines, begun at the middle of their voltages and where one has far more than it can have
    case = parse_case('title = "t"\nsupply = {}\n[[point]]\nname = "house"\n[[point]]\nname = "shed"\nfed_from = "house"\n'
                      + "".join(f'[[load]]\nname = "{line}"\nkind = "electronic"\nfront_end = "corrected"\nconnect = "{line}-N"\npower = {watts}\n'
                                'point = "shed"\n' for line, watts in (("L1", 300), ("L2", 200))))
    world = World(case, [r for r in rivals(case) if r.kind == "open neutral" and r.at == "shed"], (NOW,))
    reduced = Reduced(world.wired, world.samples(np.zeros(1, int), np.full((1, len(world.columns)), 0.5), NOW))
    steps, step = [], Reduced._step
    monkeypatch.setattr(Reduced, "_step", lambda self, rows, *given: (steps.append(len(rows)), step(self, rows, *given))[1])
    usual, astray = reduced.u0[0], reduced.u0[0] - 138.0
    (near,), (good,) = reduced.settle(np.zeros(1, int), usual[None])
    found, alone = len(steps), reduced.settle(np.zeros(1, int), astray[None])[1]
    whole = len(steps) - found
    u, solved = reduced.settle(np.zeros(2, int), np.array([astray, usual]))
    together = sum(steps) - whole - found
    assert good and not alone and solved.tolist() == [False, True] and u[1] == pytest.approx(near, abs=1e-9)
    assert found + SOON <= STUCK == whole and together < found + whole


@pytest.mark.parametrize("kind", ["electronic", "source"])
def test_other_meters_held_to_known_states_show_what_they_show_to_states_that_are_looked_for(kind):
    case = parse_case('title = "t"\nsupply = {}\n[[point]]\nname = "house"\n[[point]]\nname = "shed"\nfed_from = "house"\n'
                      + "".join(f'[[load]]\nname = "{line}"\nkind = "{kind}"\nconnect = "{line}-N"\npower = {watts}\npoint = "shed"\n'
                                for line, watts in (("L1", 300), ("L2", 200))))
    causes, readings = [r for r in rivals(case) if r.kind == "open neutral" and r.at == "shed"], (("shed", ("N", "PE")), ("house", ("L1", "N")))
    given = np.zeros(1, int), np.full((1, len(World(case, causes).columns)), 0.5), NOW
    wanted = World(case, causes, (NOW,), readings).settle(*given, True, Maps(0))
    known = World(case, causes, (NOW,)).settle(*given, True, Maps(0))
    rows = np.zeros(len(known.sample), int)
    found = known.world.holding(readings).met_again(known, rows, given[1][rows], NOW)
    assert found.inner.shape == (len(rows), 2, 2, 2) and found.inner == pytest.approx(wanted.inner, rel=1e-6, abs=1e-6)
    assert found.solved.all() and found.between(("shed", "N"), ("house", "N")) == pytest.approx(wanted.between(("shed", "N"), ("house", "N")), abs=1e-5)
