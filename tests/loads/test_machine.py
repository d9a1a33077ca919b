"""Three-phase motors: published worked examples, the table of single-phased motors, and symmetrical components by hand."""

import numpy as np
import pytest

from lostneutral import analyse, data, parse_case
from lostneutral.case.model import Load, Supply
from lostneutral.circuit.continued import settle_near
from lostneutral.circuit.network import network
from lostneutral.circuit.outcome import solution
from lostneutral.circuit.wiring import wiring
from lostneutral.loads import load_model
from lostneutral.loads.machine import Machine
from lostneutral.loads.simple import Resistive

TURN = np.exp(2j * np.pi / 3)


def machine(ohms, output, volts, **keys):
    """A machine of these elements (ohm: r1, r2, x1, x2, xm), whose impedance base is the given one."""
    base = volts**2 / output
    first = Machine(1.0, volts, *(z / base for z in ohms), **keys)
    taken = volts**2 * (1 / first.impedance(first.rated_slip)).real / base
    return Machine(taken, volts, *(z / base for z in ohms), **keys)


# Published

DUBEY = (0.5, 0.4, 1.2, 1.2, 50.0)


def test_one_line_lost_of_the_worked_example():
    # published: G. K. Dubey, Fundamentals of Electrical Drives, example 6.1 (440 V, 6 poles, 50 Hz, 950 r/min, one line
    # lost), in an open solution: Zf, Zb, 24.26 A, torques 125.61 and -3.30 N m
    it, slip, synchronous = machine(DUBEY, 11.7e3, 440.0), 0.05, 2 * np.pi * 1000 / 60
    forward, backward = it._base * it.impedance(slip), it._base * it.impedance(2 - slip)
    assert [forward, backward] == pytest.approx([7.948 + 3.536j, 0.696 + 2.373j], abs=8e-4)
    current = 440 / 3**0.5 / abs(forward + backward)
    assert current == pytest.approx(24.26, abs=6e-3)
    ports = 3**0.5 * current * np.abs([forward, backward])
    torques = [it._torque(s) * (u / 440) ** 2 * 440**2 / it._base / synchronous for s, u in zip((slip, 2 - slip), ports)]
    assert torques == pytest.approx([125.61, 3.30], abs=6e-3)
    assert it.heating(slip, ports)[0] ** 0.5 * it.rated_current == pytest.approx(3**0.5 * 24.26, abs=0.02)  # line current


@pytest.mark.parametrize(("number", "currents", "lost"), [
    # independent: the same two circuits worked out by another program, to its printed digits
    (0, (0.91, 0.97, 1.18, 1.51, 1.95), (81.7, 77.7, 73.3, 68.3, 62.4)),
    (1, (0.71, 0.81, 1.09, 1.49, 2.00), (86.3, 82.2, 77.5, 72.1, 65.6)),
])
def test_a_motor_with_a_line_lost_draws_and_holds_up_what_the_table_says(number, currents, lost):
    row = data.load("machine")["parameters"][number]
    for share, current, volts in zip((1e-6, 0.25, 0.5, 0.75, 1.0), currents, lost):
        running = running_on(case_of(row["output"] * 1.1, lines=f"voltage = {400 / 3**0.5}", torque=share))
        assert running.loads[0].details["current_ratio"] == pytest.approx(current, abs=0.01)
        assert abs(running.voltage("intake", "L1")) / (4 / 3**0.5) == pytest.approx(volts, abs=0.3)


# Independent: symmetrical components in numpy

def case_of(power, conductor="L1", lines=None, **keys):
    from lostneutral import parse_case

    own = "\n".join(f"{key} = {value}" for key, value in keys.items())
    supply = lines or ""
    text = f'title = "t"\n[supply]\n{supply}\n[[point]]\nname = "intake"\n[[break]]\nconductor = "{conductor}"\n' \
           f'[[load]]\nname = "it"\nkind = "motor"\nconnect = "L1-L2-L3"\nvoltage = 400\npower = {power}\n{own}\n'
    return parse_case(text)


def running_on(case):
    """The state of the broken circuit in which the motor runs."""
    net = network(wiring(case, case.breaks))
    state = settle_near(net, case.supply.nominal)
    assert state.attracting and state.net.modes == ("running", "running")
    return solution(case, state.net, state.root, attracting=True, reached=True)


def by_components(it, sources, lines, lost=None):
    """(slip, line currents, terminal voltages) of a machine behind line impedances, its slip by bisection."""
    a = np.array([[1, 1, 1], [1, TURN**2, TURN], [1, TURN, TURN**2]])  # from (0, 1, 2) to the phases

    def at(slip):
        def series(s):
            rotor = it.r2 / s + 1j * it.x2
            return it._base * (it.r1 + 1j * it.x1 + 1 / (1 / (1j * it.xm) + 1 / rotor))

        z = a @ np.diag([1.0, series(slip), series(2 - slip)]) @ np.linalg.inv(a)
        ohms = np.diag([1e9 if lost == k else line for k, line in enumerate(lines)]) + z
        # the star point of the winding floats: currents sum to zero
        whole = np.block([[ohms, np.ones((3, 1))], [np.ones((1, 3)), np.zeros((1, 1))]])
        i = np.linalg.solve(whole, [*sources, 0])[:3]
        v = np.array(sources) - np.diag(ohms - z) * i
        forward, backward = (abs((i * np.array([1, turn, turn**2])).sum() / 3) for turn in (TURN, TURN**2))
        torque = sum(sign * abs(current * 1j * it.xm / (1j * it.xm + it.r2 / s + 1j * it.x2)) ** 2 * it.r2 / s
                     for sign, current, s in ((1, forward, slip), (-1, backward, 2 - slip)))
        return torque, i, v

    base_amps = it.voltage / 3**0.5 / it._base
    needed = it.torque * it.rated_torque * base_amps**2
    low, high = 1e-6, float(it.breakdown_slip) * 0.8
    for _ in range(100):
        middle = (low + high) / 2
        low, high = (middle, high) if at(middle)[0] < needed else (low, middle)
    return low, *at(low)[1:]


@pytest.mark.parametrize(("sources", "lost"), [((230.0, 230.0, 230.0), 0), ((230.0, 214.0, 241.0), None), ((225.0, 235.0, 230.0), 2)])
def test_the_network_gives_what_symmetrical_components_give(sources, lost):
    phasors = [u * TURN**-k for k, u in enumerate(sources)]
    written = "phasors = { " + ", ".join(f"L{k + 1} = [{abs(u)}, {np.degrees(np.angle(u)):.12g}]" for k, u in enumerate(phasors)) + " }"
    keys = f"{written}\nline_impedance = [0.4, 0.1]"
    case = case_of(4000.0, conductor="N" if lost is None else f"L{lost + 1}", lines=keys, torque=0.7)
    it = load_model(case.loads[0], case.supply)[0]
    seen = running_on(case).loads[0]
    slip, currents, volts = by_components(it, phasors, [0.4 + 0.1j] * 3, lost)
    assert seen.details["slip"] == pytest.approx(slip, rel=1e-6)
    for line, current in zip(("L1", "L2", "L3"), currents):
        assert abs(seen.currents[line] - current) < 2e-5
    assert abs(seen.voltage) == pytest.approx(max(abs(volts[k] - volts[k - 1]) for k in range(3)), rel=1e-6)
    negative = abs((volts * np.array([1, TURN**2, TURN])).sum() / 3)
    assert seen.details["negative_sequence"] == pytest.approx(negative, abs=1e-4)
    loss = sum(abs(i) ** 2 * 0.4 for i in currents)
    assert seen.power == pytest.approx(sum((e * np.conj(i)).real for e, i in zip(phasors, currents)) - loss, rel=1e-6)


# Invariants

@pytest.mark.parametrize("neutral", [False, True])
@pytest.mark.parametrize("mode", ["running", "stalled"])
def test_slopes_are_those_of_the_laws(mode, neutral):
    it = Machine(4000.0, 400.0, torque=0.6, torque_exponent=1.5, neutral=neutral).in_mode(mode)
    ports = np.array([380.0, 60.0, 20.0][:2 + neutral])
    state = it.settled(ports)
    assert np.abs(it.rate(state, ports)).max() < 1e-9
    y, by_volts = it.response(ports)
    for port in range(len(ports)):
        step = 1e-3 * np.eye(len(ports))[port]
        both = [it.response(ports + sign * step)[0] for sign in (1, -1)]
        assert np.abs(by_volts[:, port] - (both[0] - both[1]) / 2e-3).max() < 1e-6 * np.abs(y).max()


def test_what_it_takes_at_rated_load_is_its_nameplate():  # definition
    it = Machine(4000.0, 400.0)
    state = it.settled(it.sizes(400.0))
    block, lines = it.block(state, None), 230.94010767585033 * TURN ** -np.arange(3)
    currents = block @ lines
    assert (lines * currents.conj()).sum().real == pytest.approx(4000.0)
    assert state[1] == pytest.approx(1.0) and abs(currents.sum()) < 1e-12
    assert np.abs(currents) == pytest.approx([it.rated_current] * 3)
    assert np.abs(block - block.T).max() > 0.1 * np.abs(block).max()  # not symmetric: it has a sense of rotation


def test_the_block_of_two_terminals_is_its_admittance():  # invariant
    lamp = Resistive(100.0, 200.0)
    assert lamp.block(0.0, None) == pytest.approx(np.array([[0.0025, -0.0025], [-0.0025, 0.0025]]))


def test_more_of_them_are_stacked_and_answer_alike():
    from lostneutral.loads.stack import stacked

    ones = [Machine(4000.0, 400.0), Machine(6000.0, 400.0, torque=0.5), Machine(6000.0, 415.0, torque=0.5)]
    ports = np.array([[400.0, 20.0], [390.0, 60.0], [300.0, 0.0]])
    together = stacked(ones)
    for law in ("settled", "rate", "margin", "response"):
        got = getattr(together, law)(*((together.settled(ports), ports) if law in ("rate", "margin") else (ports,)))
        each = [getattr(one, law)(*((one.settled(u), u) if law in ("rate", "margin") else (u,))) for one, u in zip(ones, ports)]
        got, each = (got, each) if law != "response" else (got[1], [pair[1] for pair in each])
        assert np.asarray(got) == pytest.approx(np.array(each), rel=1e-9, abs=1e-12), law


def test_with_its_star_point_connected_a_zero_sequence_flows():
    load = Load("it", "motor", ("L1", "L2", "L3", "N"), "intake", 400.0, parameters={"power": 4000.0})
    it = load_model(load, Supply({"L1": 230 + 0j}))[0]
    block = it.block(it.settled(it.sizes(400.0)), None)
    currents = block @ np.array([10.0, 10.0, 10.0, 0.0])
    assert currents[:3] == pytest.approx([currents[0]] * 3) and currents[3] == pytest.approx(-3 * currents[0])
    assert abs(block.sum(axis=0)).max() < 1e-12


def test_a_network_of_machines_is_numbered_by_their_ports():
    case = case_of(4000.0)
    net = network(wiring(case))
    assert [len(unit) for unit in net.units] == [2] and len(net.models) == 2 and len(set(net.keys)) == 2
    assert net.at(230.0).tolist() == [400.0, 0.0]


@pytest.mark.parametrize(("torque", "answer"), [(0.2, "would not operate"), (0.4, "may operate"), (0.9, "would operate")])
def test_an_overload_relay_watches_the_highest_line_current(torque, answer):
    # independent: the currents of a single-phased motor above, 0.95 to 1.9 times rated; memory: 1.05 and 1.2 of the set current
    from lostneutral.consequences.devices import judged, overload_relay

    case = case_of(4000.0, torque=torque)
    assert judged(overload_relay(case, case.loads[0]), case, running_on(case)).answer == answer


def test_a_motor_that_stands_still_with_a_line_lost_is_not_started_by_rounding():
    # practice: the two fields of a lost line are alike at standstill, and a motor that has come to rest in them stays so
    case = case_of(2660.0, torque_exponent=2.0)
    motor = load_model(case.loads[0], case.supply)[0].in_mode("stalled")
    for volts in np.linspace(100.0, 140.0, 50):
        for ports in ((volts, volts), (np.nextafter(volts, 0), volts), (volts, np.nextafter(volts, 0))):
            assert motor.margin(np.ones(2), np.array(ports))[0] > 0
    assert motor.margin(np.ones(2), np.array([230.0, 100.0]))[0] < 0  # two lines come back: it starts


@pytest.mark.parametrize("broken", [(), ("N",), ("N", "L2")], ids=["sound", "open neutral", "line lost as well"])
def test_a_motor_turns_whatever_the_phase_sequence(broken):
    # invariant: with L2 and L3 exchanged everywhere, the supply's sequence among it, everything is the same but for the names
    def currents(rotation, names):
        text = f'title = "t"\n[supply]\nrotation = "{rotation}"\n[[load]]\nname = "pump"\nkind = "motor"\nconnect = "L1-L2-L3"\npower = 2000\n'
        text += "".join(f'[[load]]\nname = "{line}"\nkind = "resistive"\nconnect = "{names[line]}-N"\npower = {watts}\n'
                        for line, watts in (("L1", 1000), ("L2", 300), ("L3", 500)))
        text += "".join(f'[[break]]\nfeeding = "intake"\nconductor = "{names.get(c, c)}"\n' for c in broken)
        result = analyse(parse_case(text))
        reached = (result.after if broken else result.before).reached
        pump = next(x for x in reached.loads if x.name == "pump")
        return [abs(pump.currents[names[line]]) for line in ("L1", "L2", "L3")] + [abs(x.voltage) for x in reached.loads]

    usual = currents("L1-L2-L3", {line: line for line in ("L1", "L2", "L3")})
    assert currents("L1-L3-L2", {"L1": "L1", "L2": "L3", "L3": "L2"}) == pytest.approx(usual, rel=1e-6)
    assert max(usual[:3]) < 15  # A: it runs (rated 3.8 A, standing still about seven times that)


@pytest.mark.parametrize("rotation", ["L1-L2-L3", "L1-L3-L2"])
@pytest.mark.parametrize("crossed, reverse", [
    ({}, False), ({"barn": "L1 L2"}, True), ({"intake": "L3 L2"}, True), ({"intake": "L1 L2", "barn": "L3 L2"}, False),
    ({"barn": "L1 N"}, False), ({"intake": "L1 L2", "barn": "L1 N"}, True)], ids=str)
def test_a_motor_before_which_two_lines_are_transposed_runs_in_reverse(rotation, crossed, reverse):
    # common practice: two lines exchanged reverse a three-phase motor, which takes the same current either way; line with neutral leaves
    # two thirds of the positive and a third of the negative sequence (closed form: the sequence components of 0, 230 and 230 V)
    text = f'title = "t"\nbreak = []\n[supply]\nrotation = "{rotation}"\n[[point]]\nname = "intake"\n[[point]]\nname = "barn"\nfed_from = "intake"\n'
    text += '[[load]]\nname = "pump"\nkind = "motor"\npoint = "barn"\nconnect = "L1-L2-L3"\npower = 2000\ntorque = 0.3\n'
    text += "".join(f'[[cross]]\npoint = "{point}"\nconductors = {pair.split()}\n' for point, pair in crossed.items())
    result = analyse(parse_case(text))
    before, after = (state.reached.loads[0] for state in (result.before, result.after))
    assert after.details.get("backward", False) == reverse and not after.details["stalled"]
    lost = any("N" in pair for pair in crossed.values())
    assert result.verdicts[0].outcome == ("fails in minutes" if lost else "runs in reverse" if reverse else "unharmed")
    sound = [230.0, 0.0] if not lost else [230 * 2 / 3, 230 / 3]
    assert [after.details[f"{name}_sequence"] for name in ("positive", "negative")] == pytest.approx(sound, rel=2e-3, abs=0.1)
    if not lost:
        assert abs(after.current) == pytest.approx(abs(before.current), rel=1e-3)


# A fan: its load needs next to nothing at rest, so that it comes from rest however little torque there is

@pytest.mark.parametrize("exponent", [0.5, 1.0, 2.0, 3.0])
@pytest.mark.parametrize("negative", [0.0, 0.3])
def test_a_settled_slip_is_the_first_from_no_slip_or_from_rest_at_which_torque_and_need_are_one(exponent, negative):
    # independent: the excess torque on a fine row of slips
    slips = np.linspace(1e-4, 1, 20001)
    for share in np.linspace(0.05, 1.1, 43):
        ports, found = 400.0 * share * np.array([1.0, negative]), {}
        for mode in ("running", "stalled"):
            it = Machine(2430.0, 400.0, torque_exponent=exponent).in_mode(mode)
            excess = it.excess_torque(slips, ports)
            crossings = slips[:-1][np.sign(excess[:-1]) != np.sign(excess[1:])]
            own = crossings[crossings < it.breakdown_slip][:1] if mode == "running" else crossings[crossings > it.breakdown_slip][-1:]
            state = it.settled(ports)
            if found.setdefault(mode, it.margin(state, ports)[0] > 0):
                assert state[0] == pytest.approx(own[0], abs=6e-5)
                assert abs(it.rate(state, ports)[0]) < 1e-12 and abs(it.excess_torque(state[0], ports)[0]) < 1e-12
            else:
                assert not len(own)
        assert found["running"] != found["stalled"]  # invariant: it has a state at every voltage, and one only


def test_a_fan_that_its_supply_cannot_bring_up_to_speed_crawls():
    # independent: the circuit of one phase behind the line, the slip by bisection
    from scipy.optimize import brentq

    from lostneutral import analyse

    case = case_of(150e3, conductor="N", lines=f"voltage = {400 / 3**0.5}\nline_impedance = [0.8, 0.1]", torque_exponent=2)
    it = load_model(case.loads[0], case.supply)[0]

    def left(slip):
        z = it._base * it.impedance(slip)
        return it.excess_torque(slip, it.sizes(400.0 * abs(z / (z + 0.8 + 0.1j))))[0]

    slip = brentq(left, float(it.breakdown_slip), 1)
    before = analyse(case).before
    assert before.ends == "settled" and before.reached.loads[0].details["stalled"]
    assert 0.2 < slip < 0.9 and before.reached.loads[0].details["slip"] == pytest.approx(slip, rel=1e-5)


@pytest.mark.parametrize("mode", ["running", "stalled"])
@pytest.mark.parametrize("given", [{}, {"torque_exponent": 2.0, "torque": 0.3}, {"neutral": True, "torque_exponent": 1.0}])
def test_its_slopes_are_those_of_its_laws(mode, given):
    """Independent: central differences."""
    motor = Machine(4000.0, 400.0, mode=mode, **given)
    ports, draw = len(motor.ports), np.random.default_rng(3)
    state, voltage = draw.uniform(0.02, 0.3, (6, ports)), draw.uniform(60.0, 420.0, (6, ports))
    voltage[:, 1] *= 0.3
    by_state, by_voltage, of_current = motor.slopes(state, voltage)
    y, by = motor.response(voltage)
    np.testing.assert_allclose(y, motor.admittance(motor.settled(voltage)), rtol=1e-9)
    for port in range(ports):
        aside, push = 1e-6 * np.eye(ports)[port], 1e-3 * np.eye(ports)[port]
        for found, ahead, behind, step in (
                (by_state, motor.rate(state + aside, voltage), motor.rate(state - aside, voltage), aside),
                (of_current, motor.admittance(state + aside), motor.admittance(state - aside), aside),
                (by_voltage, motor.rate(state, voltage + push), motor.rate(state, voltage - push), push),
                (by, motor.response(voltage + push)[0], motor.response(voltage - push)[0], push)):
            expected = (ahead - behind) / (2 * step[port])
            np.testing.assert_allclose(found[..., port], expected, rtol=1e-4, atol=1e-6 * np.abs(found).max())
