"""Without pulses the waveform model must give what phasors give, and account for its energy."""

from math import sqrt
from types import SimpleNamespace

import pytest
import wave_cases
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from wave_cases import CABLE, LINES, case, load, rectifier, supply

from lostneutral import parse_case
from lostneutral.case.model import Break, SupplyTransformer
from lostneutral.circuit.states import before_and_after
from lostneutral.circuit.waveform import steady
from lostneutral.circuit.waveform.model import assumptions
from lostneutral.circuit.waveform.picture import waveforms
from lostneutral.circuit.waveform.steady import repeating
from lostneutral.errors import NoSolutionError
from lostneutral.loads import load_model

MIXED = [load("lamp", "L1", power=100.0), load("impedance", "L2", resistance=100.0, reactance=200.0),
         load("impedance", "L3", resistance=50.0, reactance=-300.0, count=2),
         load("exponential", "L2", power=100.0, reactive_power=40.0), load("heater", "L3", power=500.0),
         load("resistive", "L1-L2-L3", voltage=400.0, power=100.0), load("resistive", "L1-L3", voltage=400.0, power=60.0)]


def agree(made, tolerance=1e-6):
    """Compare every voltage, current and power of both pictures; independent: the phasor solver."""
    pictures = waveforms(made)
    for phasors, waves in zip(before_and_after(made), (pictures.before, pictures.after)):
        solution = phasors.reached
        assert (waves.ends, waves.attracting, waves.duration) == ("settled", True, pytest.approx(0.02))
        for one, other in zip(solution.loads, waves.loads):
            assert other.voltage.rms == pytest.approx(abs(one.voltage), rel=tolerance)
            assert other.current.rms == pytest.approx(abs(one.current), rel=tolerance)
            assert other.power == pytest.approx(one.power, rel=tolerance)
            assert other.voltage.thd < 1e-9
        for place, wave in waves.currents.items():
            assert wave.rms == pytest.approx(abs(solution.currents[place]), rel=tolerance, abs=1e-9)
        star = waves.stars["intake"]
        assert star.rms == pytest.approx(abs(solution.nodes["intake", "N"]), rel=tolerance, abs=1e-9)
    return pictures


@pytest.mark.parametrize("resistance", [float("inf"), 10.0], ids=["open", "bad joint"])
def test_every_linear_and_thermal_kind(resistance):
    agree(case(MIXED, [Break("intake", "N", resistance)], CABLE, supply(line_impedance=0.1 + 0.1j)))


@settings(max_examples=12, derandomize=True, deadline=None, phases=[Phase.generate],
          suppress_health_check=list(HealthCheck))
@given(st.lists(st.tuples(st.floats(20.0, 2000.0), st.floats(-500.0, 500.0)), min_size=3, max_size=3))
def test_any_star_of_impedances(ohms):
    loads = [load("impedance", line, resistance=r, reactance=x) for line, (r, x) in zip(LINES, ohms)]
    agree(case(loads, cable=CABLE))


def test_a_sine_has_a_sine_s_crest_and_average_reading():
    waves = agree(case(MIXED[:2], [], CABLE)).after.loads[0].voltage  # invariant
    assert waves.crest == pytest.approx(2**0.5 * waves.rms, rel=1e-4)
    assert waves.average_reading == pytest.approx(waves.rms, rel=1e-5)


def test_unloaded_neutral_floats_and_says_so():
    pictures = waveforms(case([load("resistive", "L1-L2", voltage=400.0, power=100.0)]))
    assert pictures.after.stars["intake"] is None and pictures.after.phases["intake", "L1"] is None
    assert pictures.after.loads[0].voltage.rms == pytest.approx(3**0.5 * 230.0, rel=1e-9)


def test_dead_short_without_impedance_is_refused():
    with pytest.raises(NoSolutionError, match="dead short"):
        waveforms(case([load("impedance", "L1", resistance=0.0)], [Break("intake", "N", 0.0)]))


def test_two_breaks_and_a_load_switched_off():
    breaks = [Break("intake", "N"), Break("intake", "L3")]
    loads = [load("resistive", "L1", power=100.0), load("resistive", "L2", power=150.0),
             load("resistive", "L3", power=100.0, on=False)]
    state = waveforms(case(loads, breaks)).after
    between = 3**0.5 * 230.0  # published: 100 W and 150 W in series across two lines share the voltage 3 to 2
    assert [x.voltage.rms for x in state.loads[:2]] == pytest.approx([0.6 * between, 0.4 * between], rel=1e-9)
    assert state.loads[2].voltage is None and state.loads[2].power is None


def test_varistor_alone_takes_what_the_power_law_gives():
    # independent: the closed form of the mean of |sin|^31, by the gamma function
    from lostneutral.loads.varistor import Varistor

    made = case([load("varistor", "L1", rating=275.0)], [], source=supply(360.0))
    found = waveforms(made).before.loads[0]
    assert found.power == pytest.approx(float(Varistor(275.0).power(360.0)), rel=1e-4)
    assert found.current.crest == pytest.approx(float(Varistor(275.0).peak_current(360.0)), rel=2e-3)


def test_helpers_are_what_they_say():
    assert wave_cases.supply().phasors["L2"].imag < 0


def test_coils_that_a_core_couples():
    """A transformer whose zero-sequence impedance is its own, cables with reactance, unbalanced loads and a joint of 3 ohm."""
    made = case([*MIXED[1:3], load("resistive", "L1", power=4000.0)], [Break("intake", "N", 3.0)], CABLE,
                supply(transformer=SupplyTransformer("Dyn11", 50e3, 0.01 + 0.04j, 0.9, 5 + 80j, 2 + 3j)))
    agree(made, 1e-5)


def test_coils_in_which_a_direct_current_would_never_die_away():
    """A star on both sides: what is left of a start goes round its windings for ever, and no Newton step leads to the end of that."""
    made = parse_case('title = "t"\n[supply]\ntransformer = { rated_power = 133000.0, group = "YNyn0", short_circuit_voltage = 4.69 }\n[[point]]\n'
                      'name = "intake"\n[[break]]\nfeeding = "intake"\nresistance = 3.0\n' + "".join(
                          f'[[load]]\nname = "{line}"\nkind = "resistive"\nconnect = "{line}-N"\npower = {watts}\npoint = "intake"\n'
                          for line, watts in (("L1", 4000), ("L2", 900))))
    assert repeating(made).radius >= 1 - 1e-9
    agree(made, 1e-5)


def test_harmonic_currents_follow_the_voltage_between_their_lines():
    # closed form: 1 A of third harmonic whose zero lies where L1 − L2 has its crest, 30° before L1's; it flows in L1 and back in L2
    pulses = load("harmonic", "L1-L2", voltage=400.0, power=400.0, orders=(3,), shares=(1.0,), angles=(0.0,))
    state = waveforms(case([pulses, load("resistive", "L3", power=100.0)], [])).before
    for line, angle in (("L1", 90.0), ("L2", -90.0)):
        current = state.currents["intake", line]
        assert current.harmonics[2] == pytest.approx(1.0, rel=1e-6) and current.angles[2] == pytest.approx(angle, abs=1e-4)


def test_harmonic_currents_of_what_nothing_ties_down_are_left_out():
    loads = [load("harmonic", "L1", power=230.0, orders=(3,), shares=(0.5,), angles=(0.0,)), load("resistive", "L2-L3", voltage=400.0, power=100.0)]
    state = waveforms(case(loads, [Break("intake", "N"), Break("intake", "L1")])).after
    assert state.loads[0].voltage is None and state.currents["intake", "L1"].rms == 0 and state.loads[1].power == pytest.approx(100 * 3 * 230**2 / 400**2)


def test_why_there_are_waveforms():
    # documented: from 10 % of the power on sine waves are not trusted; 1 of 11 and of 6 is drawn as harmonics
    of = lambda watts: case([load("harmonic", "L1", power=10.0, orders=(3,), shares=(0.5,), angles=(0.0,)), load("resistive", "L2", power=watts)])
    few, asked, many = waveforms(of(100.0)), waveforms(of(100.0), asked=True), waveforms(of(50.0))
    assert (few.trusted, asked.trusted, many.trusted) == (False, True, True) and many.share == pytest.approx(1 / 6)
    assert "carry 9%" in few.why and few.why.endswith("are not trusted") and asked.why.endswith("are not trusted, but waveforms were asked for")
    assert "carry 17%" in many.why and many.why.endswith("are not trusted any more")


def test_a_load_that_would_swing_for_ever_comes_to_rest():
    """2.3 kW that go as the eighth power of the voltage, behind 69 ohm: a cycle after one too low is one too high by 1.7 times as much."""
    turn = repeating(case([load("exponential", "L1", power=2300.0, power_exponent=8.0)], [], source=supply(line_impedance=69 + 0j)), steps=12)
    # closed form: u (1 + 69 · 2300 / 230² u⁶) = 1
    u = sqrt(turn.mean((turn.values @ turn.net.across(turn.net.ports[0])) ** 2)) / 230
    assert turn.ends == "settled" and u * (1 + 3 * u**6) == pytest.approx(1.0, abs=1e-4)


@pytest.mark.parametrize(("unit", "watts", "ends"), [
    ({"power": 100.0, "cuts_out_above": 270.0, "restart_delay": 0.4}, (100, 400, 550), "settled"),  # off it is farther above its end than on
    ({"power": 600.0, "restarts_from": 200.0, "restart_delay": 0.5}, (300, 400, 500), "undecided")])  # on it is too low, off high enough to come back
def test_loads_that_are_on_or_off_follow_their_voltage(unit, watts, ends):
    made = case([load("electronic", "L1", "unit", front_end="corrected", works_from=170.0, **unit),
                 *(load("resistive", line, power=float(p)) for line, p in zip(LINES, watts))])
    turn = repeating(made, made.breaks, before=repeating(made, steps=12), steps=12)
    state = before_and_after(made)[1]
    assert turn.ends == ends and state.ends == ("settled" if ends == "settled" else "cycle")
    if ends == "settled":  # independent: the phasor solver
        volts = sqrt(turn.mean((turn.values @ turn.net.across(turn.net.ports[0])) ** 2))
        assert volts == pytest.approx(abs(state.reached.loads[0].voltage), abs=0.01) and volts > 270


def test_what_waveforms_take_for_granted():
    told = lambda *loads: [a.what for a in assumptions(case(loads))]
    bridge, lamp, plain = rectifier("L1", 60.0), load("lamp", "L2", power=60.0), load("resistive", "L3", power=60.0)
    every = ["leakage across the inlet", "rated power in the waveforms", "loads that are neither resistance, impedance nor bridge"]
    assert told(bridge, lamp, plain) == every and told(rectifier("L1", 60.0, leakage=1e6), plain) == every[1:2]
    assert told(lamp) == every[2:] and told(plain, load("lamp", "L1", power=9.0, on=False)) == []


def test_a_supply_that_takes_more_than_its_line_gives_comes_to_rest_where_it_cuts_off():
    """2.3 kW behind 300 ohm, which give 44 W at most: at full voltage it takes all, at what is then left nothing, ten thousand times less."""
    taken = load("electronic", "L1", power=2300.0)
    turn = repeating(case([taken], [], source=supply(line_impedance=300 + 0j)), steps=12)
    u, law = sqrt(turn.mean((turn.values @ turn.net.across(turn.net.ports[0])) ** 2)), load_model(taken, supply())[0]
    # practice: between where it works and where it draws nothing; invariant: what it takes there is what the line gives
    assert turn.ends == "settled" and law.cuts_off_at < u < law.works_from
    assert u * (1 + 300 * law.branch_admittance(u).real) == pytest.approx(230.0, rel=1e-4)


def test_a_load_that_swings_whatever_share_of_its_way_it_goes_is_given_up(monkeypatch):
    jumps = SimpleNamespace(branch_admittance=lambda volts: 0.1 if volts > 60.0 else 1e-6, waits=False)  # it rests at no voltage
    monkeypatch.setattr(steady, "_slow_model", lambda case, number: jumps)
    turn = repeating(case([load("exponential", "L1", power=2300.0)], [], source=supply(line_impedance=69 + 0j)), steps=12)
    assert turn.ends == "undecided" and turn.cycles < 300  # of 400
    still = turn.net.mass.diagonal() == 0  # invariant: what is told is what was followed, so that its currents sum to zero
    assert abs(turn.net.stiffness[still] @ turn.values.T + turn.net.force(turn.times)[still]).max() < 1e-9


def test_waveforms_that_nothing_holds_are_given_up(monkeypatch):
    # arithmetic: −0.5 ohm behind 0.3 ohm and 0.95 mH grows by exp(0.2 ohm / 0.95 mH × 20 ms) = 66 times in a cycle
    gives = SimpleNamespace(branch_admittance=lambda volts: -2.0, waits=False)
    monkeypatch.setattr(steady, "_slow_model", lambda case, number: gives)
    with pytest.raises(NoSolutionError, match="grow without end from cycle [1-9] on"):
        repeating(case([load("exponential", "L1", power=2300.0)], [], source=supply(line_impedance=0.3 + 0.3j)), steps=12)
