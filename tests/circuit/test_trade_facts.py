"""What every electrician knows of a lost neutral, as properties that must hold whatever the figures.

Kind of all checks: practice (facts of the trade), each with the closed form beside it where there is one.
"""

from math import inf, sqrt

import numpy as np
import pytest
from circuit_cases import after, before, load, load_voltages, one_point, polar, sizes, split_phase, star, supply, watts
from hypothesis import given, settings
from hypothesis import strategies as st

from lostneutral.case.model import Break

quick = settings(max_examples=25, derandomize=True, deadline=None)
POWER = st.floats(5.0, 20e3)
RESISTANCE = st.floats(0.5, 10e3)
SIZE = st.floats(100.0, 300.0)
SHIFT_IS_ZERO = 1e-9  #: as a share of the supply's voltage


@quick
@given(SIZE, st.builds(complex, RESISTANCE, st.floats(-1e3, 1e3)), st.sampled_from(["abc", "acb"]))
def test_equal_loads_carry_on_as_if_nothing_had_happened(volts, z, rotation):
    case = star(supply(volts, rotation), (z, z, z))
    assert load_voltages(after(case)) == pytest.approx(load_voltages(before(case)), rel=1e-9)
    assert abs(after(case).nodes["intake", "N"]) <= SHIFT_IS_ZERO * volts


@pytest.mark.parametrize("kind", ["lamp", "heater", "exponential"])
def test_equal_nonlinear_loads_carry_on_too(kind):
    loads = [load(kind, line, power=60.0) for line in ("L1", "L2", "L3")]
    assert sizes(after(one_point(supply(230), loads))) == pytest.approx([230.0] * 3, rel=1e-9)


@quick
@given(SIZE, RESISTANCE)
def test_two_equal_loads_left_share_the_line_voltage(volts, r):
    found = after(star(supply(volts), (r, r, None)))
    assert sizes(found)[:2] == pytest.approx([volts * sqrt(3) / 2] * 2, rel=1e-9)
    assert found.loads[0].power == pytest.approx(0.75 * volts**2 / r, rel=1e-9)


@quick
@given(SIZE, RESISTANCE)
def test_the_open_phase_beside_two_equal_loads_stands_at_one_and_a_half(volts, r):
    found = after(star(supply(volts), (None, r, r)))
    assert found.loads[0].on is False and found.loads[0].current == 0
    assert abs(found.loads[0].voltage) == pytest.approx(1.5 * volts, rel=1e-9)
    assert found.loads[0].ratio == pytest.approx(1.5 * volts / 230.0, rel=1e-9)


@quick
@given(POWER, POWER)
def test_two_unequal_loads_share_the_line_voltage_against_their_powers(one, other):
    found = after(one_point(supply(230), [watts(one, 230, "L1"), watts(other, 230, "L2")]))
    line = 230 * sqrt(3)
    assert sizes(found) == pytest.approx([line * other / (one + other), line * one / (one + other)], rel=1e-9)


@quick
@given(st.lists(POWER, min_size=3, max_size=3))
def test_the_voltage_rises_where_the_load_is_light(powers):
    loads = [watts(p, 230, line) for p, line in zip(powers, ("L1", "L2", "L3"))]
    found = sizes(after(one_point(supply(230), loads)))
    order = sorted(range(3), key=lambda k: powers[k])
    assert found[order[0]] >= found[order[1]] - 1e-6 and found[order[1]] >= found[order[2]] - 1e-6
    assert found[order[0]] >= 230 - 1e-6 and found[order[2]] <= 230 + 1e-6


@pytest.mark.parametrize("kind", ["lamp", "heater"])
@quick
@given(powers=st.lists(st.floats(25.0, 1000.0), min_size=3, max_size=3))
def test_it_rises_where_the_load_is_light_for_lamps_and_heaters(kind, powers):
    loads = [load(kind, line, power=p) for p, line in zip(powers, ("L1", "L2", "L3"))]
    found = sizes(after(one_point(supply(230), loads)))
    lightest, heaviest = powers.index(min(powers)), powers.index(max(powers))
    assert found[lightest] >= 230 - 1e-6 and found[heaviest] <= 230 + 1e-6


@quick
@given(SIZE, st.lists(st.one_of(st.none(), RESISTANCE), min_size=3, max_size=3).filter(any))
def test_a_resistive_star_keeps_its_star_point_inside_the_triangle(volts, resistances):
    found = after(star(supply(volts), resistances))
    assert max(u for u, r in zip(sizes(found), resistances) if r) <= sqrt(3) * volts * (1 + 1e-9)


def test_a_reactive_star_leaves_the_triangle_and_is_not_clamped():
    # Closed form: j5, 10 and -j10 ohm on 120 V give 427.6 V, 3.56 times the phase voltage.
    assert max(sizes(after(star(supply(120), (5j, 10.0, -10j))))) == pytest.approx(427.58, abs=0.005)


@quick
@given(st.floats(1.0, 100.0), st.floats(1.0, 100.0))
def test_equal_inductive_and_capacitive_loads_put_r_over_x_line_voltages_on_the_third(r, x):
    found = after(star(supply(230), (1j * x, -1j * x, r)))
    # Closed form: the reactances cancel, so in Millman's theorem the sum of the admittances is 1/r.
    e1, e2, e3 = supply(230).phasors.values()
    shift = r * (e1 / (1j * x) + e2 / (-1j * x) + e3 / r)
    assert found.loads[2].voltage == pytest.approx(e3 - shift, rel=1e-7)
    assert abs(found.loads[2].voltage) == pytest.approx(230 * sqrt(3) * r / x, rel=1e-7)


@quick
@given(SIZE, RESISTANCE, RESISTANCE)
def test_a_shorted_load_puts_the_line_voltage_on_the_others(volts, r, other):
    found = after(star(supply(volts), (0.0, r, other)))
    assert sizes(found) == pytest.approx([0.0, sqrt(3) * volts, sqrt(3) * volts], rel=1e-9)
    assert found.loads[0].current == pytest.approx(-found.loads[1].current - found.loads[2].current, rel=1e-9)


@quick
@given(SIZE, RESISTANCE)
def test_the_shorted_line_carries_root_three_of_equal_others(volts, r):
    found = after(star(supply(volts), (0.0, r, r)))
    assert abs(found.loads[0].current) == pytest.approx(sqrt(3) * abs(found.loads[1].current), rel=1e-9)


@quick
@given(st.lists(RESISTANCE, min_size=3, max_size=3), st.floats(0.01, 1e3), st.floats(1.1, 100.0))
def test_a_bad_joint_lies_between_sound_and_open_in_one_direction(resistances, joint, worse):
    shifts = [after(star(supply(230), resistances, n)).nodes["intake", "N"] for n in (0.0, joint, joint * worse, inf)]
    assert shifts[0] == 0
    assert abs(shifts[1]) <= abs(shifts[2]) + 1e-9 and abs(shifts[2]) <= abs(shifts[3]) + 1e-9
    for shift in shifts[1:3]:
        assert abs((shift * shifts[3].conjugate()).imag) <= 1e-9 * 230**2


@quick
@given(POWER, POWER, st.floats(0.0, 100.0) | st.just(inf))
def test_split_phase_sides_always_add_up_to_the_whole(one, other, joint):
    loads = [watts(one, 120, "L1"), watts(other, 120, "L2")]
    high, low = sizes(after(one_point(split_phase(), loads, [Break("intake", "N", joint)])))
    assert high + low == pytest.approx(240.0, rel=1e-9)
    assert (high - 120) * (other - one) >= -1e-6  # the lighter side is the high one


@quick
@given(POWER, POWER, POWER)
def test_split_phase_line_to_line_loads_are_untouched(one, other, range_):
    loads = [watts(one, 120, "L1"), watts(other, 120, "L2"), load("resistive", "L1-L2", 240.0, power=range_)]
    case = one_point(split_phase(), loads)
    assert after(case).loads[2].voltage == before(case).loads[2].voltage == 240
    assert after(case).loads[2].power == pytest.approx(range_, rel=1e-12)
    assert sizes(after(case))[:2] == pytest.approx(sizes(after(one_point(split_phase(), loads[:2]))), rel=1e-9)


@quick
@given(st.lists(POWER, min_size=3, max_size=3), POWER, POWER)
def test_line_to_line_and_three_phase_loads_are_untouched(powers, pair, three):
    line = 230 * sqrt(3)
    loads = [watts(p, 230, x) for p, x in zip(powers, ("L1", "L2", "L3"))]
    extra = [load("resistive", "L2-L3", line, power=pair), load("resistive", "L1-L2-L3", line, power=three)]
    found = after(one_point(supply(230), loads + extra))
    assert sizes(found)[3:] == pytest.approx([line, line], rel=1e-9)
    assert [x.power for x in found.loads[3:]] == pytest.approx([pair, three], rel=1e-9)
    assert [abs(u) for u in found.loads[4].branches] == pytest.approx([line] * 3, rel=1e-9)
    assert sizes(found)[:3] == pytest.approx(sizes(after(one_point(supply(230), loads))), rel=1e-9)


def test_phase_sequence_shows_in_a_capacitor_and_two_lamps():
    # Independent: Millman's theorem in numpy; 200 V line voltage, -j166 ohm and two of 200 ohm.
    expected = {}
    for rotation in ("abc", "acb"):
        source = supply(200 / sqrt(3), rotation)
        e, y = np.array(list(source.phasors.values())), 1 / np.array([-166j, 200, 200])
        expected[rotation] = np.abs(e - (e @ y) / y.sum())
        assert sizes(after(star(source, (-166j, 200.0, 200.0)))) == pytest.approx(list(expected[rotation]), rel=1e-9)
    assert expected["abc"][1:] == pytest.approx([182.48, 51.74], abs=0.005)
    assert expected["acb"][1:] == pytest.approx([51.74, 182.48], abs=0.005)


def test_everything_off_changes_nothing_and_leaves_the_neutral_floating():
    found = after(one_point(supply(230), [watts(100, 230, x, on=False) for x in ("L1", "L2", "L3")]))
    assert found.nodes["intake", "N"] is None
    assert [abs(found.nodes["intake", x]) for x in ("L1", "L2", "L3")] == pytest.approx([230.0] * 3)
    assert load_voltages(found) == [None] * 3 and [x.ratio for x in found.loads] == [None] * 3


def test_a_single_load_left_has_no_return():
    found = after(one_point(supply(230), [watts(100, 230, "L1"), watts(100, 230, "L2", on=False)]))
    assert abs(found.loads[0].voltage) < 1e-9 and abs(found.loads[0].current) < 1e-9
    assert abs(found.loads[1].voltage) == pytest.approx(230 * sqrt(3))  # what waits at the open terminals
    assert found.nodes["intake", "N"] == pytest.approx(polar(230, 0))
