r"""A star of rectifiers without neutral, by the charge that each pair of them passes at a line-to-line crest.

Why the star holds, and when it lets go. With the neutral open a bridge can only draw a pulse if another one returns it. At
the crest of each line-to-line voltage (amplitude U) one pair i, j conducts in series, as soon as U exceeds V_i + V_j, and
both links receive the same charge. Let I_ij be the mean current of a pair and I_k = P_k / V_k what a load takes:

    I_12 + I_31 = I_1,   I_12 + I_23 = I_2,   I_23 + I_31 = I_3,   so   I_12 = (I_1 + I_2 − I_3) / 2, and so on.

A pair that conducts holds its sum, V_i + V_j = U. If all three do, then V_1 = V_2 = V_3 = U/2 (282 V at 400 V): the
currents are as the powers, and no I_ij is negative while **no phase's power exceeds the sum of the other two**. If
one does, the pair of the other two has no charge to pass and its sum is no longer held; what is left are the big load and the
others in series across U, where of two constant powers the one that sags draws more and sags further: the big
one falls to its cut-off and the others rise to U less that.

The rule is necessary, not sufficient. About the held state the links obey, with k_ij the slope of I_ij over V_i + V_j,
C_i dδ_i/dt = −Σ k_ij (δ_i + δ_j) + (P_i / V_i²) δ_i, which is stable while the matrix of the k_ij (positive
definite, as three pairs make an odd ring) outweighs the P_i / V_i². Without inlet resistance and ripple k is infinite while a
pair conducts at all. Both soften it: I_ij goes as the 3/2 power of what U exceeds the sum by, so a pair that passes
little holds little, and the star lets go before the rule is reached; less capacitance per watt and more inlet resistance
move that edge inwards. Capacitors that are not as the powers let the links part before the first pulse: the
biggest load on an equal capacitor is already the lowest when the pulses come, and may fall although the rule is met.
From where the links start decides as well, for next to the held state there is always a collapsed one.

Linear loads in parallel (conductance G from the lines to the star point) and a joint's resistance R_N give a lone
pulse a way back: at its own crest a phase passes charge through 1/G_total + R, G_total = ΣG + 1/R_N. What a phase takes beyond the
other two may return that way, so they widen the range in which the star holds, by about what such a pulse carries with the
link at U/2, and the links stand higher than U/2. Unequal linear loads move the star point at the supply's
frequency, which takes crest from one phase and gives it to another.
"""

from dataclasses import dataclass
from math import pi

import numpy as np

from lostneutral.loads.bridge import Bridge

#: pulses of one half cycle in their order: phases that conduct, and the angle of that crest (degrees, L1 at 0, L2 at −120)
_PULSES = (((0,), 0.0), ((0, 1), -30.0), ((1,), 120.0), ((1, 2), 90.0), ((2,), 240.0), ((2, 0), 210.0))


@dataclass(frozen=True)
class ChargeStar:
    """Links of three rectifiers after each cycle, (cycles + 1, 3) V, and whether the star holds at the end."""

    links: np.ndarray
    holds: bool


def charge_star(bridges: tuple[Bridge, ...], voltage, frequency, start, cycles=400,
                conductance=0.0) -> ChargeStar:
    """Follow the links of three rectifiers in a star, one on each line, pulse by pulse.

    `voltage` (V r.m.s., line to neutral, balanced), `frequency` (Hz), `start` (V d.c., three links), `conductance` (S): what
    ties the star point to its sound place, 1/R_N of a joint plus equal linear loads. Each pulse is taken as instantaneous, at
    its crest, limited by the inlets and by the rise of the links during it.

    Range, by comparison with the waveform model in 36 stars of 50 to 200 W a phase, 1 to 10 µF/W and inlets of 0.5 to 5 Ω,
    all from full links at 50 Hz: it told holding from collapse as that does in every one (the edge itself was not
    tried closer than a tenth of a phase's power); mean links agree within 2 % from 3 µF/W and within 7 % at 1 µF/W.
    """
    omega, links = 2 * pi * frequency, np.array(start, float)
    line, between = np.sqrt(2) * voltage, np.sqrt(6) * voltage
    capacitance = np.array([x.capacitance for x in bridges])
    resistance, drop = (np.array([getattr(x, key) for x in bridges]) for key in ("resistance", "drop"))
    order = sorted((angle % 180.0, who) for who, angle in _PULSES)
    gaps = np.diff([*(angle for angle, _ in order), 180.0]) / 360.0 / frequency
    course = [links.copy()]
    for _ in range(cycles):
        total = np.zeros(3)
        for _ in range(2):
            for (_, who), gap in zip(order, gaps):
                who = list(who)
                if len(who) == 2 or conductance > 0:
                    crest = between if len(who) == 2 else line
                    ohms = resistance[who].sum() + (1 / conductance if len(who) == 1 else 0.0)
                    q = _charge(crest, (links + drop)[who].sum(), ohms, (1 / capacitance[who]).sum(), omega)
                    links[who] += q / capacitance[who]
                taken = np.array([float(x.taken(v)) for x, v in zip(bridges, links)])
                total += links * gap
                links = np.sqrt(np.maximum(links**2 - 2 * taken * gap / capacitance, 1.0))
        course.append(total * frequency)
        if len(course) > 10 and np.abs(course[-1] - course[-2]).max() < 1e-9 * line:
            break
    cut = np.array([x.cut_off for x in bridges])
    return ChargeStar(np.array(course), bool((links > cut).all()))


def pulse(crest, level, resistance, omega):
    """Return the charge (C) that a sine crest pushes through a diode against a constant voltage, in one half cycle.

    `crest` (V), `level` (V) what it works against, `resistance` (Ω) what limits it, `omega` in rad/s:
    q = 2 (E sin φ − V φ) / (ω R) with cos φ = V / E; nothing if the level is not below the crest.
    """
    ratio = np.clip(level / np.maximum(crest, 1e-12), -1, 1)
    angle = np.arccos(ratio)
    return np.where(crest > level, 2 * (crest * np.sin(angle) - level * angle) / (omega * resistance), 0.0)


def _charge(crest, level, ohms, elastance, omega):
    """Charge of one pulse, with the level half-way through its own rise: q = pulse(crest, level + q elastance / 2)."""
    if crest <= level:
        return 0.0
    low, high = 0.0, (crest - level) / elastance  # at most the rise that meets the crest
    for _ in range(5):  # each narrows the bracket to a 32nd
        tried = np.linspace(low, high, 33)
        more = pulse(crest, level + tried * elastance / 2, max(ohms, 1e-6), omega) > tried
        at = int(np.argmin(more)) if not more.all() else 32
        low, high = tried[max(at - 1, 0)], tried[at]
    return (low + high) / 2
