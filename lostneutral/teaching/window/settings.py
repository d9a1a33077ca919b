"""What is set in the exploration window, and the moves from one setting to the next: plain values, nothing drawn."""

from dataclasses import dataclass, replace
from math import inf, isinf, log

from lostneutral.case.model import Break, Case, Load
from lostneutral.loads.catalogue import resolve

OHMS = (0.0, *(m * 10.0**e for e in range(-2, 4) for m in (1.0, 2.0, 5.0)), 1e4, inf)  #: where the keys stop
_LEAST, _MOST = OHMS[1], OHMS[-2]
_END = 0.04  #: share of the joint's slider at either end that means sound, or open
FACTORS = 0.25, 4.0  #: times the power that the case gives
STEP = 2**0.25  #: of a load's power, by one key
PACES = (None, 0.1, 1.0, 60.0)  #: seconds of the circuit in one second; None: settled at once
PAGE = 12  #: loads shown together


@dataclass(frozen=True)
class Settings:
    """What the person at the window has set; `case` says what the circuit is then."""

    run: str  #: the point that the run with the joint feeds
    ohms: float  #: of the joint in its neutral: 0 sound, inf open
    on: tuple[bool, ...]  #: of every load
    factors: tuple[float, ...]  #: times the power that the case gives, of every load
    point: int = 0  #: the point shown
    load: int = 0  #: the load chosen by key
    state: int = 0  #: the settled state shown, of those that count
    predict: bool = False  #: every change hides the readings until they are asked for
    hidden: bool = False
    pace: float | None = None

    @property
    def page(self):
        """The page of loads that has the one chosen."""
        return self.load // PAGE

    @property
    def circuit(self):
        """What the answer depends on."""
        return self.ohms, self.on, self.factors


def first(case: Case) -> Settings:
    """Return `case` as it stands after its breaks, with the first point that has loads, behind the joint if there is one.

    The joint is in the neutral that is broken first in the file; if none is, in that of the first point.
    """
    broken = next((b for b in case.breaks_after() if b.conductor == "N"), None)
    run = broken.feeding if broken else case.points[0].name
    with_loads = {load.point for load in case.loads}
    point = min(range(len(case.points)), key=lambda n: (
        case.points[n].name not in with_loads, run not in _fed_through(case, case.points[n].name), n))
    return Settings(run, broken.resistance if broken else 0.0,
                    tuple(load.on for load in case.loads), (1.0,) * len(case.loads), point,
                    next((n for n, load in enumerate(case.loads) if load.point == case.points[point].name), 0))


def _fed_through(case, name):
    """Yield the points through which the point `name` is fed, itself first."""
    while name != "supply":
        yield name
        name = case.point(name).fed_from


def as_set(case: Case, settings: Settings) -> Case:
    """Return `case` with the joint, the switches and the powers as set; all else that is broken stays so."""
    others = tuple(b for b in case.breaks_after() if (b.feeding, b.conductor) != (settings.run, "N"))
    joint = (Break(settings.run, "N", settings.ohms),) if settings.ohms else ()
    loads = tuple(replace(scaled(load, factor), on=on)
                  for load, on, factor in zip(case.loads, settings.on, settings.factors))
    return replace(case, breaks=(*others, *joint), events=(), loads=loads)


def scaled(load: Load, factor: float) -> Load:
    """Return `load` with `factor` times its power, or divided impedance; itself if it has neither."""
    if factor == 1.0:
        return load
    keys = resolve(load).parameters
    changed = {key: keys[key] * factor for key in ("power", "reactive_power") if key in keys}
    changed |= {key: keys[key] / factor for key in ("resistance", "reactance") if key in keys}
    return replace(load, parameters={**load.parameters, **changed})


def scalable(load: Load) -> bool:
    """Return whether `scaled` changes anything."""
    return scaled(load, 2.0) != load


def place(ohms: float) -> float:
    """Return where a joint of `ohms` stands on its slider: 0 sound, 1 open, by ratio between.

    >>> place(0.0), place(inf), round(place(10.0), 3)
    (0.0, 1.0, 0.5)
    """
    if ohms == 0 or isinf(ohms):
        return 0.0 if ohms == 0 else 1.0
    along = log(min(max(ohms, _LEAST), _MOST) / _LEAST) / log(_MOST / _LEAST)
    return _END + (1 - 2 * _END) * along


def ohms_at(place: float) -> float:
    """Return the joint's resistance (ohm) at a place of its slider, the other way round."""
    if abs(place - 0.5) > 0.5 - _END + 1e-9:
        return 0.0 if place < 0.5 else inf
    return _LEAST * (_MOST / _LEAST) ** ((place - _END) / (1 - 2 * _END))


def with_ohms(settings, ohms):
    return _changed(settings, ohms=ohms)


def step_ohms(settings, up):
    """Go to the next higher or lower of `OHMS`."""
    near = 1 + 1e-9
    if up:
        return with_ohms(settings, next((o for o in OHMS if o > settings.ohms * near), inf))
    return with_ohms(settings, next((o for o in reversed(OHMS) if o < settings.ohms / near), 0.0))


def switch_neutral(settings):
    """Open the neutral; close it if it is open."""
    return with_ohms(settings, 0.0 if isinf(settings.ohms) else inf)


def switch_load(settings, load):
    on = tuple(was != (n == load) for n, was in enumerate(settings.on))
    return _changed(settings, on=on, load=load)


def with_factor(settings, load, factor):
    low, high = FACTORS
    factors = list(settings.factors)
    factors[load] = min(max(factor, low), high)
    return _changed(settings, factors=tuple(factors), load=load)


def step_factor(settings, up):
    factor = settings.factors[settings.load] * (STEP if up else 1 / STEP)
    return with_factor(settings, settings.load, 1.0 if abs(factor - 1) < 1e-9 else factor)


def choose_load(settings, step):
    return replace(settings, load=min(max(settings.load + step, 0), len(settings.on) - 1))


def turn_page(settings, step):
    """Go to the first load of another page; stay where there is none."""
    page = min(max(settings.page + step, 0), (len(settings.on) - 1) // PAGE)
    return settings if page == settings.page else replace(settings, load=page * PAGE)


def next_point(settings, points):
    return replace(settings, point=(settings.point + 1) % points)


def next_pace(settings):
    return replace(settings, pace=PACES[(PACES.index(settings.pace) + 1) % len(PACES)])


def next_state(settings, states):
    return replace(settings, state=(settings.state + 1) % max(states, 1))


def switch_predict(settings):
    return replace(settings, predict=not settings.predict, hidden=not settings.predict)


def switch_hidden(settings):
    return replace(settings, hidden=not settings.hidden)


def _changed(settings, **what):
    """Change the circuit: the first of its settled states is shown, behind the prediction if that comes first."""
    return replace(settings, **what, state=0, hidden=settings.hidden or settings.predict)
