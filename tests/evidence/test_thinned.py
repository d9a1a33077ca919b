"""A long street looked at coarser: what stands in for it, and whether the fault is still found."""

from dataclasses import replace

import numpy as np
import pytest

from lostneutral import parse_case, where
from lostneutral.case.model import Break, Observation
from lostneutral.circuit.states import before_and_after
from lostneutral.evidence.places import tried
from lostneutral.evidence.rivals import rivals
from lostneutral.evidence.thinned import is_long, next_kept, shared_out, spread_over, thinned

COUNT, BROKEN = 150, 90
STREET = f"""title = "street"
[supply]
line_impedance = [0.01, 0.02]
[[group]]
name = "home"
count = {COUNT}
spacing = {{ line = [0.0005, 0.0002] }}
service = {{ line = [0.03, 0.0] }}
load = [
  {{ name = "stove", kind = "resistive", power = 1500, share = 0.5 }},
  {{ name = "lamps", kind = "lamp", power = 60 }},
]
[[load]]
name = "kilns"
kind = "resistive"
power = 40000
connect = "L1-N"
point = "home 121"
[[break]]
feeding = "home joint {BROKEN}"
"""
READ = (10, 60, 100, 140)


@pytest.fixture(scope="module")
def street():
    """(the case with readings as the whole street has them, its settled state)."""
    case = parse_case(STREET)
    state = before_and_after(case)[1].reached
    return replace(case, observations=tuple(_reading(state, n) for n in READ)), state


def _reading(state, n):
    line = f"L{(n - 1) % 3 + 1}"
    volts = abs(state.between((f"home {n}", line), (f"home {n}", "N")))
    return Observation(f"home {n}", (line, "N"), round(float(volts), 1), 3.0)


def test_nothing_is_lost_on_the_way(street):
    """Invariant: loads by line and kind, the prior of every kind, and something that stands for every point."""
    case, _ = street
    chosen = spread_over([p.name for p in tried(case)])
    part, stands = thinned(case, chosen)
    assert len(part.points) < len(case.points) / 3

    def counted(loads):
        made = {}
        for load in loads:
            key = load.kind, load.connect, load.on
            made[key] = made.get(key, 0) + load.count
        return made

    assert counted(part.loads) == counted(case.loads)
    found = rivals(case)
    shared = shared_out(case, found, chosen)
    for kind in {r.kind for r in found}:
        assert sum(r.prior for r in shared if r.kind == kind) == pytest.approx(sum(r.prior for r in found if r.kind == kind))
    assert {p.name for p in case.points} == stands.keys() and {*stands.values()} <= {p.name for p in part.points}
    impedance = lambda c, name: 0 if name == "supply" else c.point(name).cable.line + impedance(c, c.point(name).fed_from)
    way = lambda name: () if name == "supply" else (name, *way(case.point(name).fed_from))
    for joint in (p.name for p in case.points if p.kind == "joint"):  # what has no load: by what feeds it, at the beginning of the street by its first
        assert stands[joint] == next((name for name in way(joint) if name in stands.values() and name.startswith("home joint")), part.points[0].name)
    for name in (*chosen, *(f"home {n}" for n in READ)):
        assert impedance(part, name) == pytest.approx(impedance(case, name))


def test_the_coarser_street_has_the_voltages_of_the_whole(street):
    """Independent: the street as it is, solved node by node; a street thinned to ten stretches, broken at the same joint."""
    case, state = street
    chosen = (*spread_over([p.name for p in tried(case)]), f"home joint {BROKEN}")
    part, _ = thinned(case, chosen)
    coarse = before_and_after(replace(part, breaks=(Break(f"home joint {BROKEN}", "N"),)))[1].reached
    for o in case.observations:
        ends = [(o.point, end) for end in o.between]
        assert abs(abs(coarse.between(*ends)) - abs(state.between(*ends))) < 1.0


@pytest.mark.thorough
def test_the_fault_is_found_in_a_long_street(street):
    """Independent (readings from the whole street): the break lies between the last premises read as sound and the first that is not."""
    case, _ = street
    assert is_long(case)
    found = where(case)
    numbers = {o: int(o.place.feeding.rsplit(" ", 1)[1]) for o in found.outcomes if o.place.feeding}
    between = sum(o.support for o, n in numbers.items() if READ[1] - 10 <= n <= READ[2] and o.place.kind in ("open neutral", "bad joint"))
    assert between > 0.9
    assert min(abs(n - BROKEN) for o, n in numbers.items() if o.support > 0.01) <= 5
    assert all(o.points.keys() == {p.name for p in case.points} for o in found.outcomes if o.points)
    assert np.isclose(sum(o.support for o in found.outcomes), 1.0)
    assert "taken together" in found.notes[0]


def test_the_way_up_is_looked_at_once_however_long_the_street():
    class Counted(dict):
        looked = 0

        def __getitem__(self, name):
            self.looked += 1
            return super().__getitem__(name)

    case = parse_case(STREET)
    for points in (case.points, case.points[::-1]):  # whichever end the case begins at
        by_name = Counted((p.name, p) for p in points)
        above = next_kept(by_name, {"home joint 31"})
        # by hand: every joint is fed from the one before, and every third has three homes
        assert above["home joint 28"] == above["home 30"] == above["home joint 31"] == "supply"
        assert above["home joint 34"] == above["home 150"] == above["home 31"] == "home joint 31"
        assert by_name.looked < 2 * len(points)
