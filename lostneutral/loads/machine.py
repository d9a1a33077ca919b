"""Three-phase induction motors by their positive- and negative-sequence circuits: running, single-phased, stalled."""

from functools import cached_property

import numpy as np

from lostneutral import data
from lostneutral.frozen import dataclass
from lostneutral.loads.base import LoadModel, Low

_DATA = data.load("machine")
_TURN = np.exp(2j * np.pi / 3)
_ROUNDS = 40  #: at most, of the settled slip; a handful where torque and need do not just touch
_SLIPS = np.linspace(0.0, 1.0, 65)  #: from rest to the slip of the breakdown torque: where a crawling motor is looked for
_LEAST = 1e-9  #: slip, and torque as a share of rated: where a division would fail


def _default(name):
    return _DATA[name]["value"]


_STARTS_FROM = 1e-6  #: of rated torque: with a line lost the two fields cancel at standstill but for rounding, which starts nothing


@dataclass(frozen=True, eq=False)
class Machine(LoadModel):
    """A three-phase motor that takes `power` (W) at `voltage` (V, line to line) with its rated torque on the shaft.

    `r1`, `r2`, `x1`, `x2`, `xm` are the elements of its circuit per phase as shares of one impedance, which follows from
    the nameplate: at the slip at which the circuit gives its rated output it takes `power`. It drives `torque` times
    rated torque, which goes with the speed to the power `torque_exponent`. The windings' connection does not show at
    three terminals; with `neutral` their star point is connected to a fourth.

    Ports: positive and negative sequence (and zero sequence with `neutral`), each √3 times that of a line to the star
    point. States: the slip; the heat of the hottest winding, as a share of its rise at rated load (it changes nothing but
    how long the winding lasts); a zero for the third port.

    - "running": the slip goes by the torque of both sequences less that of the load. Once it is beyond that of the
      breakdown torque and grows, the motor is lost to
    - "stalled": a rotor at rest, or one that crawls: where the load needs little torque at rest (a fan), up to the speed, short of
      that of the breakdown torque, at which it needs all that there is. Until torque is left over at every such speed.

    With a line lost both sequences are equal: it runs on as long as the torque lets it, and holds the lost line up.
    Range: steady speed, phasors; no saturation, iron loss or friction; parameters are those typical of its size.

    >>> motor = Machine(power=4000.0, voltage=400.0)
    >>> ports = motor.sizes(400.0)
    >>> print(f"slip {motor.settled(ports)[0]:.3f}, rated current {motor.rated_current:.2f} A, power factor {motor.power_factor:.2f}")
    slip 0.039, rated current 7.21 A, power factor 0.80
    """

    power: float
    voltage: float
    r1: float = _DATA["parameters"][0]["r1"] / 400.0**2 * 3700.0
    r2: float = _DATA["parameters"][0]["r2"] / 400.0**2 * 3700.0
    x1: float = _DATA["parameters"][0]["x1"] / 400.0**2 * 3700.0
    x2: float = _DATA["parameters"][0]["x2"] / 400.0**2 * 3700.0
    xm: float = _DATA["parameters"][0]["xm"] / 400.0**2 * 3700.0
    torque: float = _default("torque")
    torque_exponent: float = _default("torque_exponent")
    neutral: bool = False
    mode: str = "running"

    modes = ("running", "stalled")
    gives_light = False
    turns = True

    @property
    def ports(self):
        positive, negative = (1.0, _TURN, _TURN**2), (1.0, _TURN**2, _TURN)
        rows = ((*positive, 0.0), (*negative, 0.0), (1.0, 1.0, 1.0, -3.0)) if self.neutral else (positive, negative)
        return tuple(tuple(complex(w) / 3**0.5 for w in row) for row in rows)

    def sizes(self, voltage):
        voltage = np.asarray(voltage, float)
        return np.stack([voltage, *(0 * voltage for _ in self.ports[1:])], axis=-1)

    # The circuit, per unit
    def impedance(self, slip):
        """Return the impedance of the circuit at a slip (of the negative sequence: 2 − slip), per unit."""
        rotor = self.r2 / np.maximum(slip, _LEAST) + 1j * self.x2
        return self.r1 + 1j * self.x1 + 1j * self.xm * rotor / (rotor + 1j * self.xm)

    def _circuit(self, slip):
        """That impedance, and how it grows with the slip."""
        slip = np.maximum(slip, _LEAST)
        turning = self.r2 / slip
        rotor = turning + 1j * self.x2
        share = 1j * self.xm / (rotor + 1j * self.xm)
        return self.r1 + 1j * self.x1 + share * rotor, -share**2 * (turning / slip)

    @cached_property
    def _behind(self):
        """Share of the voltage, resistance and reactance that the rotor sees before its own resistance."""
        across = self.r1 + 1j * (self.x1 + self.xm)
        inner = 1j * self.xm * (self.r1 + 1j * self.x1) / across
        return np.abs(self.xm / across) ** 2, inner.real, inner.imag + self.x2

    def _torque(self, slip):
        """Return the torque at full voltage of one sequence at a slip, per unit of (impedance base)."""
        share, r, x = self._behind
        rotor = self.r2 / np.maximum(slip, _LEAST)
        return share * rotor / ((r + rotor) ** 2 + x**2)

    def _torque_and_slope(self, slip):
        """Return that torque, and how it grows with the slip."""
        share, r, x = self._behind
        slip = np.maximum(slip, _LEAST)
        rotor = self.r2 / slip
        both = r + rotor
        size = both * both + x * x
        torque = share * rotor / size
        return torque, torque / slip * (2 * rotor * both / size - 1)

    @cached_property
    def rated_slip(self):
        """Slip at which the output is the rated one (1 per unit)."""
        slip = 0.03 + 0 * np.asarray(self.r2, float)
        for _ in range(60):
            slip = self._slip(1.0, 1 / (1 - slip))[0]
        return slip

    @cached_property
    def rated_torque(self):
        """Per unit."""
        return self._torque(self.rated_slip)

    @cached_property
    def _steady(self):
        """Whether what it drives needs the same torque at every speed."""
        return not np.any(self.torque_exponent)

    @cached_property
    def _rated_admittance(self):
        """Per unit."""
        return np.abs(1 / self.impedance(self.rated_slip))

    @cached_property
    def breakdown_slip(self):
        """Slip of the largest torque of the positive sequence."""
        _, r, x = self._behind
        return self.r2 / np.hypot(r, x)

    @cached_property
    def _base(self):
        """The impedance, Ω, of which the elements are shares."""
        return np.asarray(self.voltage, float) ** 2 * (1 / self.impedance(self.rated_slip)).real / self.power

    @cached_property
    def rated_current(self):
        """Of a line, A."""
        return self.voltage / 3**0.5 / np.abs(self._base * self.impedance(self.rated_slip))

    @cached_property
    def power_factor(self):
        """At rated load."""
        return np.cos(np.angle(self.impedance(self.rated_slip)))

    def _slip(self, positive, needed):
        """Return (slip, whether there is one) at which the positive sequence (per unit of voltage) gives a torque."""
        share, r, x = self._behind
        needed = np.maximum(needed, _LEAST)
        half = share * np.asarray(positive, float) ** 2 / (2 * needed) - r
        rest = half**2 - r**2 - x**2
        there = (rest >= 0) & (half > 0)
        return np.where(there, self.r2 / (half + np.sqrt(np.where(there, rest, 1.0))), self.breakdown_slip), there

    def _needed(self, slip):
        """Return the torque of the load at a slip, and how that grows with the slip."""
        if self._steady:
            return self.torque * self.rated_torque, 0.0
        n = np.asarray(self.torque_exponent, float)
        speed = np.maximum(1 - np.asarray(slip, float), 0.0) / (1 - self.rated_slip)  # as a share of rated
        steep = np.where(n > 0, n * np.maximum(speed, _LEAST) ** (n - 1), 0.0) / (1 - self.rated_slip)
        return self.torque * self.rated_torque * speed**self.torque_exponent, -self.torque * self.rated_torque * steep

    def _of(self, voltage):
        """The voltages of positive and negative sequence, per unit."""
        ratio = np.asarray(voltage, float)[..., :2] / self.voltage
        return ratio[..., 0:1], ratio[..., 1:2]

    def excess_torque(self, slip, voltage):
        """Return by what the torque is more than the load needs at a slip, per unit, at the voltages (V) of the ports."""
        positive, negative = self._of(voltage)
        return self._torque(slip) * positive**2 - self._torque(2 - slip) * negative**2 - self._needed(slip)[0]

    def _excess(self, slip, positive, negative):
        """Return that excess, how it grows with the slip, and the torque of each sequence at full voltage; voltages per unit."""
        (ahead, rising), (back, falling), (needed, steep) = self._torque_and_slope(slip), self._torque_and_slope(2 - slip), self._needed(slip)
        return ahead * positive**2 - back * negative**2 - needed, rising * positive**2 + falling * negative**2 - steep, ahead, back

    def _settled_slip(self, voltage):
        """Return (slip, whether it follows the voltage there) in the present mode: 1 where a motor is at rest or finds no slip."""
        return self._running_slip(voltage) if self.mode == "running" else self._crawling_slip(voltage)

    def _running_slip(self, voltage):
        """The least slip at which the torque is enough, from below it on: there the excess bends down, and no step goes too far."""
        positive, negative = self._of(voltage)
        most = self.breakdown_slip + 0 * positive
        least = self._needed(most)[0] + self._torque(2.0) * negative**2  # torque that is needed at any slip
        slip = np.maximum(self._slip(positive, least)[0], _LEAST)
        for _ in range(_ROUNDS):
            excess, steep, *_ = self._excess(slip, positive, negative)
            slip, before = np.minimum(np.maximum(slip - excess / np.maximum(steep, _LEAST), _LEAST), most), slip
            if (np.abs(slip - before) <= 1e-11 * slip).all():  # the square of which is below rounding
                break
        return np.where(positive > 0, slip, 1.0), (slip < most) & (positive > 0)

    def _slow(self, voltage):
        """Slips from rest to that of the breakdown torque (last axis), and the excess torque at each that could turn something."""
        slips = 1 + (self.breakdown_slip - 1) * (_SLIPS[:1] if self._steady else _SLIPS)  # of a constant load least at rest
        return slips, self.excess_torque(slips, voltage) - _STARTS_FROM * self.rated_torque

    def _crawling_slip(self, voltage):
        """The slip up to which a motor comes from rest."""
        if self._steady:
            rest = 1 + 0 * voltage[..., 0:1] * self.breakdown_slip
            return rest, rest < 1
        positive, negative = self._of(voltage)
        slips, left = self._slow(voltage)
        held = left <= 0
        number = held.argmax(axis=-1)[..., None]
        crawls = held.any(axis=-1, keepdims=True) & (number > 0)
        slips = np.broadcast_to(slips, left.shape)
        fast, slow = (np.take_along_axis(slips, np.maximum(number - k, 0), axis=-1) for k in (0, 1))
        if not crawls.any():
            return np.ones_like(fast), crawls
        slip = (fast + slow) / 2
        for _ in range(_ROUNDS):
            excess, steep, *_ = self._excess(slip, positive, negative)
            fast, slow = np.where(excess <= 0, slip, fast), np.where(excess > 0, slip, slow)
            aim = slip - excess / np.where(np.abs(steep) > _LEAST, steep, _LEAST)
            slip, before = np.where((aim >= fast) & (aim <= slow), aim, (fast + slow) / 2), slip
            if (np.abs(slip - before) <= 1e-15)[crawls].all():
                break
        return np.where(crawls, slip, 1.0), crawls

    def heating(self, slip, voltage):
        """Return the heat of the hottest winding over that at rated load, by its current squared.

        Exact where a line is lost (√3 times that of a sequence in two lines); else no less than it can be.
        """
        first, second = self._currents(slip, voltage)
        return (first**2 + second**2 + first * second) / self._rated_admittance**2

    def _currents(self, slip, voltage):
        positive, negative = self._of(voltage)
        return positive / np.abs(self.impedance(slip)), negative / np.abs(self.impedance(2 - slip))

    # The interface of a load

    def admittance(self, state):
        slip = np.asarray(state, float)[..., 0:1]
        return self._stacked(*(1 / (self._base * self.impedance(at)) for at in (slip, 2 - slip)), self._zero_sequence)

    @cached_property
    def _zero_sequence(self):
        """Its admittance, S."""
        return 1 / (self._base * (self.r1 + 1j * self.x1 * _default("zero_sequence")))

    def branch_admittance(self, voltage):
        ports = self.sizes(voltage)
        return self.admittance(self.settled(ports))[..., 0] / 3

    def rate(self, state, voltage):
        state = np.asarray(state, float)
        slip, heat = state[..., 0:1], state[..., 1:2]
        if self.mode == "running":
            pace = -self.excess_torque(slip, voltage) / self.rated_torque / _default("starting_time")
        else:
            pace = (self._settled_slip(voltage)[0] - slip) / _default("starting_time")
        warming = (self.heating(slip, voltage) - heat) / _default("winding_time")
        return self._stacked(pace, warming, -state[..., 2:])

    @cached_property
    def forgets(self):
        return np.array([0.0, 1 / _default("winding_time"), 0.0])[:len(self.ports)]

    def settled(self, voltage):
        slip = self._settled_slip(voltage)[0]
        return self._stacked(slip, self.heating(slip, voltage))

    def _stacked(self, *parts):
        """What each port has, of values with a last axis of one or none; the third is of a neutral, if there is one, and 0 unless given."""
        parts = (*parts, 0.0)[:len(self.ports)]
        made = np.empty((*np.broadcast_shapes(*map(np.shape, parts))[:-1], len(parts)), np.result_type(*parts))
        for port, part in enumerate(parts):
            made[..., port:port + 1] = part
        return made

    def response(self, voltage):
        """Return (y, dy/dv): the slope is that of the slip, and there is none where the motor finds no slip."""
        slip, there = self._settled_slip(voltage)
        by = self._stacked(*self._slip_slopes(slip, there, voltage))
        y, by_slip = self._admittance_and_slope(slip)
        return y, by_slip[..., :, None] * by[..., None, :]

    def _slip_slopes(self, slip, there, voltage):
        """How a settled slip follows each voltage (1/V), where it is `there`."""
        positive, negative = self._of(voltage)
        _, stiff, ahead, back = self._excess(slip, positive, negative)
        moves = there & (np.abs(stiff) > _LEAST)
        per = np.where(moves, 2 / np.where(moves, stiff, 1.0), 0.0) / self.voltage
        return -ahead * positive * per, back * negative * per

    def _admittance_and_slope(self, slip):
        """The admittance (S) of each port at a slip, and how it grows with the slip."""
        (ahead, rising), (back, falling) = self._circuit(slip), self._circuit(2 - slip)
        y = 1 / (self._base * ahead), 1 / (self._base * back)
        return self._stacked(*y, self._zero_sequence), self._stacked(-y[0] * rising / ahead, y[1] * falling / back)

    def slopes(self, state, voltage):
        """Return the slopes as matrices (…, ports, ports)."""
        state, voltage = np.broadcast_arrays(np.asarray(state, float), np.asarray(voltage, float))
        slip, (positive, negative) = state[..., 0:1], self._of(voltage)
        ahead, rising = self._circuit(slip)
        back, falling = self._circuit(2 - slip)
        _, steep, forward, backward = self._excess(slip, positive, negative)
        first, second = positive / np.abs(ahead), negative / np.abs(back)
        along, across = 2 * first + second, 2 * second + first
        warmed = across * second * (falling / back).real - along * first * (rising / ahead).real
        by_state, by_voltage, of_current = made = [np.zeros((*state.shape, len(self.ports)), kind) for kind in (float, float, complex)]
        start, heavy = _default("starting_time"), self._rated_admittance**2 * _default("winding_time")
        if self.mode == "running":
            own, by = -steep / self.rated_torque, (-2 * forward * positive / self.rated_torque / self.voltage,
                                                   2 * backward * negative / self.rated_torque / self.voltage)
        else:
            own, by = -1.0, self._slip_slopes(*self._settled_slip(voltage), voltage)
        for matrix, row, column, value in (
                (by_state, 0, 0, own / start), (by_state, 1, 0, warmed / heavy), (by_state, 1, 1, -1 / _default("winding_time")),
                (by_voltage, 0, 0, by[0] / start), (by_voltage, 0, 1, by[1] / start),
                (by_voltage, 1, 0, along / np.abs(ahead) / self.voltage / heavy), (by_voltage, 1, 1, across / np.abs(back) / self.voltage / heavy)):
            matrix[..., row, column:column + 1] = value
        by_state[..., 2:, 2:] = -1.0
        of_current[..., :, 0] = self._admittance_and_slope(slip)[1]
        return tuple(made)

    def margin(self, state, voltage):
        """Return how far the mode is from its end, in slip or in rated torque, times the rated voltage."""
        slip = np.asarray(state, float)[..., 0:1]
        if self.mode == "running":
            return self.voltage * np.maximum(self.breakdown_slip - slip, self.excess_torque(slip, voltage) / self.rated_torque)
        return self.voltage * -self._slow(voltage)[1].min(axis=-1, keepdims=True) / self.rated_torque

    def next_mode(self, state, voltage):
        return "stalled" if self.mode == "running" else "running"

    def describe(self, state, voltage):
        """Return slip, stalled, both sequence voltages (V, line to star point), the highest current over rated, heat."""
        voltage, state = np.asarray(voltage, float), np.asarray(state, float)
        return {
            "slip": state[..., 0],
            "stalled": self.mode == "stalled",
            "positive_sequence": voltage[..., 0] / 3**0.5,
            "negative_sequence": voltage[..., 1] / 3**0.5,
            "current_ratio": np.sqrt(self.heating(state[..., 0:1], voltage))[..., 0],
            "winding_heat": state[..., 1],
        }

    # What becomes of it

    def met(self, voltage, details):
        if "positive_sequence" not in details:
            return self.sizes(voltage)
        ports = self.sizes(3**0.5 * details["positive_sequence"])
        ports[..., 1] = 3**0.5 * details["negative_sequence"]
        return ports

    def wear(self, given):
        from lostneutral.loads.machine_wear import laws
        return laws(self)

    def stopped(self, voltage, details):
        if details.get("stalled"):
            lacks = "turn" if np.all(np.asarray(details.get("slip", 1.0)) >= 1) else "come up to its speed"
            return Low("stalls", f"too little torque to {lacks}, and too little current to heat the winding", "poor")
        return None

    def low(self, ratio, details):
        return None

    def protector_acts(self, voltage):
        """Return within how long (s) an overload relay set to rated current operates, by the ports' voltages (V); infinite if not."""
        from lostneutral.loads.machine_wear import relay_acts
        return relay_acts(float(np.sqrt(self.heating(self._settled_slip(voltage)[0], voltage))[..., 0]))


def from_keys(given):
    """Return the model of a motor on three lines, by the keys that `given` has (see `lostneutral.loads.build`)."""
    power = given.value("power")
    entry = next(entry for entry in _DATA["parameters"] if np.mean(power) <= entry["up_to"])
    base = entry["voltage"] ** 2 / entry["output"]
    shares = {key: entry[key] / base for key in ("r1", "r2", "x1", "x2", "xm")}
    given.assume("circuit of the motor", ", ".join(f"{key.upper()} {share:.3f}" for key, share in shares.items())
                 + " of rated voltage² / output", entry["source"], entry["known"])
    torque = {key: given.value(key, _DATA[key]) for key in ("torque", "torque_exponent")}
    neutral = len(given.load.connect) == 4
    for what in ("starting_time", "winding_time", "zero_sequence")[: 2 + neutral]:
        given.note(what, _DATA[what])
    return Machine(power, given.load.voltage, **shares, **torque, neutral=neutral)
