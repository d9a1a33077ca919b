"""The rows of the before/after tables, and the sentences that go with them, for terminal and document alike."""

from lostneutral.consequences.limits import verdict_by_band
from lostneutral.consequences.touch import is_live
from lostneutral.frozen import dataclass
from lostneutral.report.base.words import angle, connection, details, number, significant, size
from lostneutral.words.amounts import plain
from lostneutral.words.language import tell, to_tell
from lostneutral.words.terms import NO_VOLTAGE, VERDICTS

ACROSS = VERDICTS | to_tell({"dead": "no voltage", "off": "off"})
"""Of the voltage across a load, as `VERDICTS` of a line's to neutral."""


@dataclass(frozen=True)
class LineRow:
    place: str
    line: str
    before: float | None  #: V, line to neutral
    after: float | None
    ratio: float | None  #: after, to the supply's nominal
    verdict: str  #: in words
    told: str  #: the same, without voltage to neutral also whether it is still live to earth


@dataclass(frozen=True)
class LoadRow:
    name: str
    connect: str
    before: float | None  #: V across the load
    after: float | None
    ratio: float | None  #: after, to the load's rated voltage
    verdict: str  #: in words, of that ratio by the supply's band; "off" for a load that is off
    power_before: float | None  #: W
    power_after: float | None
    current_before: float | None  #: A
    current_after: float | None
    details_before: str
    details: str  #: light and temperatures after


def point_rows(case, before, after):
    """Return a PointRow for every line of every point; `before` may be None."""
    made = []
    for point in case.points:
        for line in point.phases:
            was = size(before.voltage(point.name, line)) if before else None
            now = size(after.voltage(point.name, line))
            ratio = None if now is None else now / case.supply.nominal
            found = verdict_by_band(case, ratio)
            told = NO_VOLTAGE[is_live(after, point.name, line)] if found == "dead" else VERDICTS[found]
            made.append(LineRow(point.name, line, was, now, ratio, VERDICTS[found], told))
    return tuple(made)


def load_rows(case, before, after):
    """Return a LoadRow for every load; `before` may be None."""
    earlier = {load.name: load for load in before.loads} if before else {}
    made = []
    for now in after.loads:
        was = earlier.get(now.name)
        made.append(LoadRow(
            now.name, connection(now), size(was.voltage) if was else None, size(now.voltage), now.ratio,
            ACROSS[verdict_by_band(case, now.ratio)] if now.on else "off", was.power if was else None, now.power,
            size(was.current) if was else None, size(now.current), details(was), details(now)))
    return tuple(made)


def neutral_shifts(case, after):
    """Return (point, words) of how far each point's neutral stands from the supply's star point."""
    said = []
    for point in case.points:
        moved = after.nodes.get((point.name, "N"))
        if moved is None:
            said.append((point.name, "no defined potential; no figure can be given"))
        else:
            at = angle(moved)
            said.append((point.name, f"{number(abs(moved))} V" + (f" at {number(at)}°" if at is not None and
                                                                   abs(moved) >= 0.05 else "")))
    return tuple(said)


def outer_limits(case):
    """Return the outer limits (V) of the case's supply band, on the supply's own nominal voltage."""
    from lostneutral.consequences import limits

    found = limits.band(case.supply.limits)
    return found.low * case.supply.nominal, found.high * case.supply.nominal


def band_checked(case):
    """Return whether the figures of the case's supply band were checked against their source or a secondary one."""
    from lostneutral import data
    from lostneutral.consequences import limits

    return limits.band(case.supply.limits).known != data.KNOWN["M"]


def band_words(case):
    """Return "230 V nominal; EN 50160: 195.5 to 253 V"; without the figures where these were not checked at their source."""
    low, high = outer_limits(case)
    if not band_checked(case):
        return tell("{nominal} V nominal; limits of {limits}", nominal=plain(case.supply.nominal), limits=case.supply.limits)
    return tell("{nominal} V nominal; {limits}: {low} to {high} V", nominal=plain(case.supply.nominal), limits=case.supply.limits,
                low=plain(low, ".4g"), high=plain(high, ".4g"))


def undecided(state):
    """Return the sentences for a state that does not say where the circuit arrives."""
    if state.ends == "cycle":
        return f"The circuit has no steady state: it keeps changing. {state.reason}".strip()
    found = f"{len(state.solutions)} settled state{'s were' if len(state.solutions) != 1 else ' was'} found."
    return _joined(f"{OPEN}.", state.reason or found, sensitive_words(state))


OPEN = "Which line goes high is not decided by the loads alone"


def several(state):
    """Return the sentences for several settled states of which one is reached."""
    holding = sum(s.attracting for s in state.solutions)
    if holding < 2:
        return _joined(f"{len(state.solutions)} settled states were found, of which one is stable: the figures are of it.",
                       state.reason)
    return _joined(f"{OPEN}.", state.reason, "The figures are of the one that the circuit reaches from the sound "
                   "installation; a disturbance could lead to another.", sensitive_words(state))


def sensitive_words(state):
    """Return what a small difference of the loads would change, or an empty text."""
    names = ", ".join(state.sensitive)
    return f"5 % more or less power of {names} would lead to another of them." if names else ""


def _joined(*texts):
    return " ".join(text for text in texts if text)


def settled_states(case, state):
    """Return (number, whether it holds, whether it is arrived at, lines to neutral in words) of each settled state."""
    made = []
    for number_, s in enumerate(state.solutions, 1):
        volts = {}
        for point in case.points:
            words = ", ".join(f"{line} {number(size(s.voltage(point.name, line)), 0)}" for line in point.phases)
            volts.setdefault(words, point.name)
        first, more = next(iter(volts)), len(volts) - 1
        where = f"{volts[first]}: " if more else ""
        made.append((str(number_), "yes" if s.attracting else "no", "yes" if s.reached else "no", f"{where}{first} V"))
    return tuple(made)


def cycle_words(state):
    """Return what a state that cycles goes through, texts: its period, ranges and r.m.s. values, what restarts bring.

    None if it does not.
    """
    if not state.cycle:
        return ()
    cycle = state.cycle
    told = [(name, "", v) for name, v in cycle["loads"].items()]
    told += [(name, " line to neutral", v) for name, v in cycle["lines"].items()]
    told += [(f"neutral at {name}", " to remote earth", v) for name, v in cycle["neutrals"].items()]
    told += [(f"metalwork at {name}", " to remote earth", v) for name, v in cycle["metalwork"].items()]
    told += [(f"d.c. link of {name}", "", v) for name, v in cycle["links"].items()]
    restarts = []
    for again in cycle["restarts"]:
        name, met = max(again["met"].items(), key=lambda pair: pair[1])
        restarts.append(f"{again['load']} restarts: highest voltage then {number(met, 0)} V ({name}).")
    return (f"The cycle takes {significant(cycle['period'], 's')}.",
            *(f"{name}{what}: {number(v['lowest'], 0)} to {number(v['highest'], 0)} V, r.m.s. {number(v['rms'], 0)} V"
              for name, what, v in told), *dict.fromkeys(restarts))


def limit_words(limit):
    """Return a limit's value with its unit, "253 V"."""
    return f"{limit.value:.4g} {limit.unit}"
