"""The averaged rectifier by itself: the length of its pulses, its inlet's parts, and which loads it stands for."""

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq

from lostneutral.case.model import Load, Supply
from lostneutral.loads import load_model
from lostneutral.loads.rectifier import MOST, Rectifier, half_angle

SUPPLY = Supply({"L1": 230 + 0j})


def model_of(**keys):
    return load_model(Load("a", "electronic", ("L1", "N"), "intake", 230.0, parameters=keys), SUPPLY)[0]


@pytest.mark.parametrize(("resistance", "power"), [(0.1, 5.0), (5.0, 60.0), (20.0, 100.0), (100.0, 200.0)])
def test_half_angle_has_the_fundamental_of_its_pulses(resistance, power):
    # independent: Fourier integral of the pulse by quadrature, root by bracketing
    crest, conductance = np.sqrt(2) * 230.0, power / 230.0**2

    def fundamental(angle):
        pulse = lambda t: crest * (np.cos(t) - np.cos(angle)) / resistance * np.cos(t)
        return 2 / np.pi * quad(pulse, -angle, angle, epsabs=0, epsrel=1e-12)[0]

    angle = brentq(lambda a: fundamental(a) - conductance * crest, 1e-3, MOST, xtol=1e-13)
    assert half_angle(resistance, conductance) == pytest.approx(angle, rel=1e-9)


def test_an_inlet_passes_no_more_than_it_can():
    # derived: most power behind the inlet, no drop, where tan φ = 2 φ
    assert np.tan(MOST) == pytest.approx(2 * MOST, rel=0.02)
    angles = np.linspace(0.5, 1.5, 2001)
    behind = np.cos(angles) * (np.sin(angles) - angles * np.cos(angles))
    assert angles[np.argmax(behind)] == pytest.approx(MOST, abs=0.01)
    assert half_angle(50.0, 1.0) == MOST


def test_charge_of_the_pulses_is_what_the_link_gives_away():
    # invariant: mean current into the link times its voltage, with the losses of inlet and diodes, is the power at the inlet
    model = Rectifier(100.0, 230.0, inlet_resistance=5.0)
    crest, angle, link = np.sqrt(2) * 230.0, half_angle(5.0, 100.0 / 230.0**2), model.link(230.0)
    current = lambda t: (crest * np.cos(t) - link - model.bridge_drop) / 5.0
    mean, square = (quad(f, -angle, angle)[0] / np.pi for f in (current, lambda t: current(t) ** 2))
    assert mean * (link + model.bridge_drop) + 5.0 * square == pytest.approx(100.0, rel=1e-9)


def test_the_inlet_s_parts_are_seen():
    plain, full = model_of(power=60.0), model_of(power=60.0, suppressor=1e-7, leakage=1e5)
    y = full.admittance(full.settled(230.0))
    assert y.imag == pytest.approx(2 * np.pi * 50 * 1e-7)  # definition
    assert full.admittance(full.settled(0.0)).real == pytest.approx(1e-5)  # cut off: the leakage is left
    assert plain.admittance(plain.settled(0.0)).real < 1e-6 and plain.admittance(plain.settled(230.0)).imag == 0


@pytest.mark.parametrize(("keys", "kind"), [({"power": 60.0}, "Rectifier"), ({"power": 90.0}, "Electronic"), (
    {"power": 90.0, "front_end": "rectifier"}, "Rectifier"), ({"power": 60.0, "front_end": "corrected"}, "Electronic")])
def test_which_loads_it_stands_for(keys, kind):
    model = model_of(**keys)
    assert type(model).__name__ == kind and model.stands_in == (kind == "Rectifier")


def test_many_at_once_are_each_by_itself():
    # invariant
    powers, volts = np.array([10.0, 40.0, 70.0]), np.array([120.0, 230.0, 300.0])
    many = model_of(power=powers, front_end="rectifier")
    single = [model_of(power=float(p), front_end="rectifier") for p in powers]
    for what in ("settled", "link", "pace"):
        assert getattr(many, what)(volts) == pytest.approx([getattr(m, what)(v) for m, v in zip(single, volts)])
