"""Discharge lamps that go out and strike again; transformer-fed loads. Kinds beside each test."""

from math import inf

import numpy as np
import pytest

from lostneutral import analyse
from lostneutral.case.model import Break, Case, Load, Point, Supply
from lostneutral.circuit.incident import follow_course
from lostneutral.circuit.states import before_and_after
from lostneutral.claims.model import Kind
from lostneutral.loads.discharge import Discharge

PHASORS = {line: 230.0 * np.exp(-2j * np.pi * k / 3) for k, line in enumerate(("L1", "L2", "L3"))}


def load(kind, line, power, name=None, **keys):
    return Load(name or f"{kind} {line}", kind, (line, "N"), "hall", 230.0, parameters={"power": float(power)} | keys)


def star(*loads):
    return Case("test", Supply(PHASORS), (Point("hall"),), loads, breaks=(Break("hall", "N", inf),))


def test_published_exponents_near_rated_voltage():
    """Published: fluorescent lamps, power 0.96, reactive power 7.4, power factor 0.90; P. Kundur, Table 7.1."""
    lamp = Discharge(100.0, 230.0)
    y = lamp.admittance(lamp.settled(np.array([227.7, 230.0, 232.3])))
    watts, reactive = np.array([227.7, 230.0, 232.3]) ** 2 * (y.real, -y.imag)
    ratio = np.log(232.3 / 227.7)
    assert np.log(watts[2] / watts[0]) / ratio == pytest.approx(0.96, abs=0.005)
    assert np.log(reactive[2] / reactive[0]) / ratio == pytest.approx(7.4, abs=0.05)
    assert watts[1] / np.hypot(watts[1], reactive[1]) == pytest.approx(0.90, abs=0.005)


def test_lamps_that_starve_themselves_go_out_and_strike_again_after_their_time():
    """Independent: star by the node-voltage formula with the lamps lit and with them out; the delay is theirs."""
    lamps = load("discharge", "L1", 1200, name="lamps", lamp="high-pressure sodium", power_factor=1.0, restart_delay=240.0)
    case = star(lamps, *(load("resistive", line, p) for line, p in (("L1", 300), ("L2", 600), ("L3", 500))))
    after = before_and_after(case)[1]
    assert after.ends == "cycle" and {again["load"] for again in after.cycle["restarts"]} == {"lamps"}
    assert after.cycle["period"] == pytest.approx(240.0, abs=1.0)
    y, e = np.array([300, 600, 500]) / 230.0**2, np.array(list(PHASORS.values()))
    out = np.abs(e - (y @ e) / y.sum())  # with the lamps out
    assert [after.cycle["lines"][f"hall {line}"]["rms"] for line in PHASORS] == pytest.approx(out, rel=0.003)
    u = 1.0
    for _ in range(200):  # lit
        lit = y + np.array([1200.0 / 230.0**2 * u ** (1.7 - 2), 0, 0])
        u = np.abs(e - (lit @ e) / lit.sum())[0] / 230.0
    assert u < 0.8  # below that the arc goes out, after the time in which the star comes near it
    assert u * 230.0 - 0.5 <= after.cycle["lines"]["hall L1"]["lowest"] < 0.8 * 230.0
    off = [m for m in follow_course(case, end=300.0).moments if m.kind == "mode"]
    assert [m.what for m in off][:2] == ["lamps: shutdown", "lamps: restart"]
    assert off[1].time - off[0].time == pytest.approx(240.0, abs=0.5)


def test_a_lamp_that_is_out_is_told_as_giving_no_light():
    """Invariant. 230 V lamps at 69 % of rated voltage, kept there by heaters whatever they do: out, and for good."""
    result = analyse(star(load("discharge", "L1", 20, name="lamp"), *(
        load("resistive", line, p) for line, p in (("L1", 3000), ("L2", 1500), ("L3", 1400)))))
    assert result.after.ends == "settled" and result.after.reached.loads[0].power < 0.1
    assert next(v for v in result.verdicts if v.item == "lamp").outcome == "gives no light"


def test_an_arc_that_is_out_follows_nothing():  # invariant: its leakage is one number
    lit = Discharge(70.0, 230.0)
    out = lit.in_mode("cut off")
    for model, follows in ((lit, True), (out, False)):
        step = 1e-4
        slope = (model.admittance(0.9 + step) - model.admittance(0.9 - step)) / (2 * step)
        assert complex(model.slopes(0.9, 207.0)[2]) == pytest.approx(complex(slope), rel=1e-6, abs=1e-9) and bool(abs(slope) > 1e-7) is follows


def test_above_the_knee_is_said_and_resonance_with_capacitors_is_not_excluded():
    """Practice: iron cores saturate from 1.1 to 1.2 of rated voltage."""
    heaters = [load("resistive", line, p) for line, p in (("L1", 100), ("L2", 1000), ("L3", 1000))]
    filters = Load("filter", "impedance", ("L2", "N"), "hall", 230.0, parameters={"resistance": 0.0, "reactance": -300.0})
    for more, word in (((), False), ((filters,), True)):
        result = analyse(star(load("transformer", "L1", 40, name="bell"), *heaters, *more))
        claim = next(c for c in result.claims if c.kind is Kind.SATURATES)
        assert claim.value == pytest.approx(abs(result.after.reached.loads[0].voltage) / 230.0) and claim.value > 1.1
        assert claim.facts["capacitive"] is word
