"""Cases drawn at random that once ended in a crash, cut down to what it takes. Kind of each check beside it."""

import numpy as np
import pytest
from case_generator import random_case
from daily import daily

from lostneutral import analyse, parse_case
from lostneutral.circuit.states import before_and_after
from lostneutral.circuit.waveform.steady import repeating
from lostneutral.loads import load_model

HEAD = 'title = "found"\n[supply]\n'


def case(text, supply=""):
    return parse_case(HEAD + supply + text)


def test_a_house_without_load_whose_electrode_carries_the_neighbours_pulses():
    # Its neutral carries part of a neighbour's current to its electrode, its lines carry none: their ratio has no end.
    result = analyse(case("""
electrode = 2.0
[[point]]
name = "lane"
kind = "joint"
cable = { length = 50, area = 50 }
[[point]]
name = "empty house"
fed_from = "lane"
cable = { length = 10, area = 16 }
electrode = 50.0
[[point]]
name = "house"
fed_from = "lane"
cable = { length = 10, area = 16 }
[[break]]
feeding = "lane"
[[load]]
name = "Screen"
kind = "electronic"
front_end = "rectifier"
power = 60
connect = "L1-N"
point = "house"
[[load]]
name = "Kettle"
kind = "heater"
power = 2000
connect = "L1-N"
point = "empty house"
on = false
""", 'earthing = "TN-C-S"\n'))
    # practice: the house without load has no full neutral
    assert result.waveforms.before.currents["empty house", "N"].rms > 0
    assert not any("largest line current" in (f.computed or "") and "empty" in f.subject for f in result.findings)


@pytest.mark.parametrize("kind", daily(['kind = "motor"\npower = 2000', 'kind = "electronic"\nfront_end = "rectifier"\npower = 900',
                                        'kind = "ptc_heater"\npower = 900']))
def test_a_surge_strip_alone_on_a_lost_neutral(kind):
    # At no voltage a varistor's law takes nothing at all: without its leakage nothing tied the neutral down.
    result = analyse(case(f"""
[[load]]
name = "Strip"
kind = "varistor"
rating = 275
connect = "L1-N"
[[load]]
name = "Three-phase"
{kind}
connect = "L1-L2-L3"
"""))
    # practice: with no other way back the strip has no voltage, and the neutral that of its line
    reached = result.after.reached
    assert abs(reached.loads[0].voltage) < 1e-6
    assert reached.nodes["intake", "N"] == pytest.approx(230.0, abs=1e-6)
    assert reached.loads[1].ratio == pytest.approx(1.0, abs=1e-6)


def test_a_point_whose_every_conductor_is_cut_has_no_readings():
    # Its conductors couple to each other, and to nothing that has a voltage.
    result = analyse(case("""
[[point]]
name = "intake"
cable = { length = 20, area = 16 }
[[point]]
name = "shed"
fed_from = "intake"
phases = ["L1"]
cable = { length = 20, area = 4 }
[[break]]
feeding = "shed"
conductor = "L1"
[[break]]
feeding = "shed"
conductor = "N"
[[load]]
name = "Lamp"
kind = "lamp"
power = 60
connect = "L1-N"
point = "intake"
"""))
    # invariant: no voltage is stated of a conductor that floats
    assert {r.point for r in result.readings} == {"intake"}
    assert result.after.reached.voltage("shed", "L1") is None


def test_a_three_phase_motor_where_waveforms_are_trusted():
    result = analyse(case("""
[[load]]
name = "Till"
kind = "harmonic"
power = 601
orders = [2, 9, 11]
shares = [0.321, 0.534, 0.073]
connect = "L1-N"
[[load]]
name = "Fan"
kind = "motor"
power = 2000
connect = "L1-L2-L3"
"""))
    # practice: its lines are whole, and it runs a little below synchronous speed
    assert result.waveforms.trusted
    fan = result.after.reached.loads[1]
    assert abs(fan.voltage) == pytest.approx(400.0, rel=0.01) and 0 < fan.details["slip"] < 0.1 and not fan.details["stalled"]


@pytest.mark.filterwarnings("error")
def test_a_transformer_whose_lines_and_neutral_have_gone_over_to_a_generator():
    # invariant: nothing ties its low-voltage coils, which carry nothing; the incident has a result all the same
    result = analyse(parse_case(random_case(105)))
    # practice: in the 5 ms in which no neutral is made the motor's current is driven through a varistor, which holds the voltage
    # to twice or three times its peak of operation (391 V r.m.s.), whatever an open circuit would come to
    (brief,) = result.brief
    assert 391 * 2**0.5 < brief.crests.lines["地下室", "L3"] < 3 * 391 * 2**0.5


@pytest.mark.thorough
def test_a_load_without_delay_that_swings_beside_rectifiers_is_brought_to_rest():
    made = parse_case(random_case(1112))
    found = repeating(made, made.breaks_after(), made.crosses, steps=48)
    # invariant: it settles, each load that follows its r.m.s. voltage at the admittance that its law has there
    assert found.ends == "settled"
    for port in (port for port in found.net.ports if port.load in found.admittances):
        volts = np.sqrt(found.mean((found.values @ found.net.across(port)) ** 2))
        by_law = complex(load_model(made.loads[port.load], made.supply)[0].branch_admittance(volts))
        assert found.admittances[port.load][port.a[1], port.b[1]] == pytest.approx(by_law, rel=1e-6)


@pytest.mark.thorough
def test_a_motor_that_its_neighbour_keeps_from_starting_does_not_stall_and_start_in_no_time():
    # practice: an inverter that the supply cannot hold goes off by its voltage and comes back after its 300 s, with the motor or without
    state = before_and_after(parse_case(random_case(40256)))[1]
    assert state.ends == "cycle" and state.cycle["period"] == pytest.approx(300, rel=0.01)


def test_what_a_transformer_carries_does_not_hide_what_drives_an_island():
    # invariant: a house cut off from all lines but one, its neutral too, hangs on the leakage of one lamp, which leaves it one potential
    after = before_and_after(parse_case(random_case(30061)))[1]
    assert [(s.attracting, s.reached) for s in after.solutions] == [(True, True)]
    assert abs(after.reached.loads[1].voltage) < 1e-3


@pytest.mark.thorough
def test_loads_that_drive_one_another_out_of_step_cycle():
    # practice: two motors that stall and trip and two sources with delays of their own, on two lines in series, never come to rest
    after = before_and_after(parse_case(random_case(41172)))[1]
    assert after.ends == "cycle" and after.cycle["period"] > 19.2  # s, the shorter of the sources' delays


def test_motors_on_the_one_line_that_is_left_stand_still():
    # closed form: with two lines lost and nothing on the neutral no current flows, and the motor's other ends stand at the line that is left
    _, after = before_and_after(parse_case(random_case(42988)))
    volts = [abs(after.reached.between(("intake", line), ("supply", "N"))) for line in ("L1", "L2", "L3")]
    assert volts == pytest.approx([240.0] * 3, abs=1e-6)
    assert all(abs(i) < 1e-9 for i in after.reached.currents.values())


@pytest.mark.filterwarnings("error::RuntimeWarning")
def test_a_motor_far_beyond_its_rating():
    # Its winding's life was halved so often that the power of two overflowed.
    result = analyse(case("""
[[point]]
name = "hall"
[[load]]
name = "Pump"
kind = "motor"
connect = "L1-L2-L3-N"
power = 20
voltage = 20
point = "hall"
[[load]]
name = "Heater"
kind = "heater"
power = 7000
connect = "L1-N"
point = "hall"
"""))
    # practice: a motor at twenty times its rated voltage fails at once
    assert [v.outcome for v in result.verdicts if v.item == "Pump"] == ["fails in seconds"]
