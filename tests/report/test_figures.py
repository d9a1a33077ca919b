"""Figures: well-formed, deterministic, with a text alternative, and phasors true to scale when read back."""

import re
from cmath import rect
from dataclasses import replace
from math import radians
from xml.etree import ElementTree

import handmade
import pytest
from daily import daily

from lostneutral.circuit.solution import State
from lostneutral.report.base.drawing import DASHES, HATCHES, colour
from lostneutral.report.star import figures

pytestmark = pytest.mark.thorough

ALL = (figures.phasors, figures.voltages, figures.currents, figures.picture)
RESULTS = {"star": handmade.star([100.0, 200.0, 300.0]), "undecided": handmade.undecided(),
           "split-phase": handmade.star([100.0, 400.0], handmade.split_phase()),
           "nothing moves": handmade.star([100.0, 100.0, 100.0])}


@pytest.mark.parametrize("name", daily(RESULTS, ("star", "split-phase")))
@pytest.mark.parametrize("draw", ALL, ids=lambda f: f.__name__)
def test_well_formed_with_its_alternative_and_the_same_twice(draw, name):
    svg, alternative = draw(RESULTS[name])
    root = ElementTree.fromstring(svg)
    assert root.get("aria-label") == alternative and len(alternative) > 40
    assert (svg, alternative) == draw(RESULTS[name])


def test_a_floating_neutral_is_said_and_drawn_without_a_figure():
    result = RESULTS["star"]
    (solution,) = result.after.solutions
    loads = tuple(replace(load, voltage=None, current=None, power=None, ratio=None) for load in solution.loads)
    nodes = dict(solution.nodes) | {("intake", "N"): None, ("intake", "PE"): None}
    floating = replace(result, after=State("after", (replace(solution, nodes=nodes, loads=loads),)))
    assert "no defined potential" in figures.phasors(floating)[1]
    for draw in ALL[1:]:
        ElementTree.fromstring(draw(floating)[0])


def ends(svg, gid):
    """Return first and last point of the path drawn under `gid`, in the drawing's own coordinates, y upwards."""
    path = re.search(rf'<g id="{gid}">\s*<path d="([^"]+)"', svg).group(1)
    numbers = [float(x) for x in re.findall(r"-?\d+(?:\.\d+)?", path)]
    return complex(numbers[0], -numbers[1]), complex(numbers[-2], -numbers[-1])


@pytest.mark.parametrize("watts", [(100.0, 200.0, 300.0), (1.0, 2000.0, 5.0), (60.0, 60.0, 60.0)])
def test_phasors_are_true_to_scale(watts):  # independent: node-voltage formula in handmade; 0.5 % of the phasor
    result = handmade.star(list(watts))
    svg, _ = figures.phasors(result)
    corner, zero = ends(svg, "before-L1")[1], ends(svg, "before-L1")[0]
    scale = (corner - zero) / 230.0
    assert abs(scale.imag) < 1e-3 * scale.real  # L1 points right
    for state, solution in (("before", result.before.reached), ("after", result.after.reached)):
        for line in ("L1", "L2", "L3"):
            start, end = ends(svg, f"{state}-{line}")
            expected = solution.voltage("intake", line)
            assert abs((end - start) / scale - expected) < 0.005 * 230


def test_the_star_point_s_move_is_drawn_to_scale():
    result = RESULTS["star"]
    svg, _ = figures.phasors(result)
    start, end = ends(svg, "after-shift")
    corner, zero = ends(svg, "before-L1")[1], ends(svg, "before-L1")[0]
    assert (end - start) / (corner - zero) * 230.0 == pytest.approx(rect(66.395, radians(150)), abs=0.4)


def test_the_triangle_s_sides_are_the_line_to_line_voltage():
    svg, _ = figures.phasors(RESULTS["star"])
    first, second, third = (ends(svg, f"after-{line}")[1] for line in ("L1", "L2", "L3"))
    sides = [abs(a - b) for a, b in ((first, second), (second, third), (third, first))]
    assert max(sides) == pytest.approx(min(sides), rel=0.002)  # invariant: a symmetrical supply has equal sides


def test_conductors_differ_by_pattern_and_hatch_and_not_by_colour_alone():
    assert len(set(map(str, DASHES.values()))) == len(set(HATCHES.values())) == 5
    assert len({colour(c) for c in DASHES}) == 5


@pytest.mark.usefixtures("figures_unwritten")
def test_alternatives_carry_the_figures():
    said = " ".join(draw(RESULTS["star"])[1] for draw in ALL)
    for text in ("289.4 V", "239.4 V", "175.7 V", "66.4 V", "0.753 A", "above limits", "below limits", "within limits"):
        assert text in said


def test_nothing_of_the_users_matplotlib_settings_gets_in_or_is_changed():
    import matplotlib

    plain = figures.picture(RESULTS["star"])[0]
    with matplotlib.rc_context({"font.size": 30, "lines.linewidth": 9, "svg.fonttype": "none"}):
        before = dict(matplotlib.rcParams)
        assert figures.picture(RESULTS["star"])[0] == plain
        assert dict(matplotlib.rcParams) == before
