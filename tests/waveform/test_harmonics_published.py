"""A star with harmonic loads: the angle printed, and what exact thirds leave; the printed tables are checks of the data files.

Published: T. R. Kuphaldt, Lessons in Electric Circuits, volume II (AC), chapter 10, "Harmonics in polyphase power systems",
listings "Y-Y source/load 4-wire system with harmonics" and "Y-Y source/load (no neutral) with harmonics". The listings
delay the second and third phase by 5.55555 ms and 11.1111 ms and not by exact thirds of 1/60 s; the small unbalance
that this makes is printed too, and only comes out if the same delays are put in.
"""

from cmath import rect
from dataclasses import replace
from math import pi, sqrt

import numpy as np
import pytest

from lostneutral.case.model import Break, Cable, Case, Load, Point, Supply
from lostneutral.circuit.waveform.picture import waveforms

DELAYS = {"L1": 0.0, "L2": 5.55555e-3, "L3": 11.1111e-3}
RATED = 120 / sqrt(2)
ORDERS = (3, 5, 7, 9)


def published_star():
    # the book's sources are sines: −90 degrees as cosines, and so are the load's current sources of 50 mA
    phasors = {line: rect(RATED, -pi / 2 - 2 * pi * 60 * delay) for line, delay in DELAYS.items()}
    parameters = {"power": RATED**2 / 1000.0, "orders": ORDERS, "shares": [50 / 120] * 4,
                  "angles": [90.0 * order - 90.0 for order in ORDERS]}
    loads = tuple(Load(line, "harmonic", (line, "N"), "star", RATED, parameters=parameters) for line in DELAYS)
    point = Point("star", cable=Cable(1 + 0j, 1 + 0j))
    source = Supply(phasors, nominal=RATED, frequency=60.0, line_impedance=1 + 0j)
    return Case("harmonics in a star", source, (point,), loads, breaks=(Break("star", "N"),))


@pytest.fixture(scope="module")
def solved():
    return waveforms(published_star())


def test_printed_angle_of_the_star_point(solved):
    # published: third harmonic from the source's neutral to the star point at −180 degrees as a sine; the other way, as here, at 0
    assert (solved.after.stars["star"].angles[2] + 90.0) % 360.0 == pytest.approx(0.0, abs=0.01)


def test_exact_thirds_leave_no_fundamental_in_neutral_or_star(solved):
    made = published_star()  # invariant: what is left above is the delays' doing
    phasors = {line: rect(RATED, -pi / 2 - 2 * pi * k / 3) for k, line in enumerate(DELAYS)}
    exact = waveforms(replace(made, supply=replace(made.supply, phasors=phasors)))
    assert exact.before.currents["star", "N"].harmonics[0] < 1e-12
    assert exact.after.stars["star"].harmonics[0] < 1e-10
    assert np.allclose(exact.after.stars["star"].harmonics[2], solved.after.stars["star"].harmonics[2], rtol=1e-9)
