"""Findings on the conductors: what broke, what it carried, heat in a bad joint, and why no device acted."""

from math import isinf

from lostneutral import data
from lostneutral.case.model import Case
from lostneutral.circuit.solution import State
from lostneutral.consequences.limits import cite, published
from lostneutral.consequences.weighing import figure, sure, weighed
from lostneutral.result import Finding


def nothing_broken(case: Case, before: State, after: State):
    """Yield a note if no conductor is broken or exchanged."""
    if not case.breaks_after() and not case.crosses:
        yield Finding("note", "the installation",
                      "No conductor is broken in this case: the figures are those of the sound installation.",
                      None, None, "certain: it is what the case says")


def exchanged(case: Case, before: State, after: State):
    """Yield a danger for each pair of conductors that is exchanged."""
    for cross in case.crosses:
        names = " and ".join(cross.conductors)
        yield Finding("danger" if {"N", "PE"} & set(cross.conductors) else "warning", f"{names} at {cross.point}",
                      f"{names} are exchanged where the run arrives at {cross.point}: beyond it, what is called "
                      f"{cross.conductors[0]} is {cross.conductors[1]} and the other way round.", None, None,
                      "certain: it is what the case says")


def current_before(case: Case, before: State, after: State):
    """Yield a note for each broken conductor: what it carried while it was sound."""
    for broken in case.breaks_after():
        currents = _currents(before, broken)
        if currents:
            amps = figure(currents, "A")
            fate = "Its way was cut" if isinf(broken.resistance) else "It now has to pass a bad joint"
            yield Finding("note", _place(broken), f"While it was sound, {_place(broken)} carried {amps}. {fate}.", amps,
                          None, sure(before))


def joint_heat(case: Case, before: State, after: State):
    """Yield the heat in each bad joint, resistance times the square of its current, against what a joint can shed."""
    entry, most = data.load("yardsticks")["joint"], data.load("yardsticks")["joint_sheds"]
    for joint in case.breaks_after():
        if isinf(joint.resistance):
            continue
        currents = _currents(after, joint)
        if not currents:
            continue
        heats = [joint.resistance * i**2 for i in currents]
        watts, amps = figure(heats, "W"), figure(currents, "A")
        earlier = _currents(before, joint)
        at_first = f" With the {figure(earlier, 'A')} that the sound conductor carried it would give off " \
                   f"{figure([joint.resistance * i**2 for i in earlier], 'W')}." if earlier else ""
        hot, burns = max(heats) >= entry["noticeable"], max(heats) >= most["value"]
        words = f"More than about {figure(most['value'], 'W')} in one spot, which is what a joint can shed, chars " \
            "insulation and can start a fire; a joint that heats goes on to open." if burns else \
            "Heat in one spot chars insulation and can start a fire; a joint that heats goes on to open." if hot \
            else "That is little heat, but such a joint tends to get worse."
        yield Finding("damage" if burns else "warning" if hot else "note", _place(joint),
                      f"The bad joint of {figure(joint.resistance, 'ohm')} in {_place(joint)} "
                      f"carries {amps} and gives off {watts}; a sound one gives off about nothing."
                      f"{at_first} {words}", watts,
                      published(most) if burns else published(entry, entry["noticeable"]), sure(after))


def voltage_drop_before(case: Case, before: State, after: State):
    """Yield a note on the largest drop, line to neutral, between supply and any point while all was sound."""
    drops = [(abs(source) - abs(volts), line, point.name, abs(source)) for s in weighed(before) for point in case.points
             for line in point.phases if (source := case.supply.phasors.get(line)) is not None
             and (volts := s.voltage(point.name, line)) is not None]
    worst = max(drops, key=lambda d: d[0], default=None)
    if worst and worst[0] >= 0.005:  # what would print as 0.00 V is no finding
        drop = figure(worst[0], "V")
        yield Finding("note", f"{worst[1]} at {worst[2]}",
                      f"While all was sound the largest voltage drop was {drop} ({100 * worst[0] / worst[3]:.1f} % of "
                      f"the supply's voltage), on {worst[1]} at {worst[2]}.", drop, None, sure(before))


def fault_devices(case: Case, before: State, after: State):
    """Yield a note on why fuses, breakers and residual-current devices need not act when a neutral is lost."""
    if not any(b.conductor == "N" for b in case.breaks_after()):
        return
    entry = data.load("protection")["fault_current_devices"]
    largest = [max((abs(i) for s in weighed(state) for (_, conductor), i in s.currents.items()
                    if i is not None and conductor in case.supply.lines), default=None) for state in (before, after)]
    computed, words = None, ""
    if None not in largest:
        computed = figure(largest[1], "A")
        words = f" The largest line current is {computed} after the break and was {figure(largest[0], 'A')} before it."
    yield Finding("note", "protective devices",
                  "Fuses, circuit breakers and residual-current devices need not act when a neutral is lost: no excess "
                  f"and no residual current belongs to it.{words} That nothing tripped says nothing about the voltage.",
                  computed, None, f"{data.KNOWN[entry['known']]}: {cite(entry)}")


def _currents(state, broken):
    return [abs(i) for s in weighed(state) if (i := s.currents.get((broken.feeding, broken.conductor))) is not None]


def _place(broken):
    return f"{broken.conductor} of the run to {broken.feeding}"
