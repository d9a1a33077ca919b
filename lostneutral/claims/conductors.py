"""Claims on the conductors: what broke, what it carried, heat in a joint, current by other paths, and what devices see of it."""

from dataclasses import replace
from math import isinf

from lostneutral import data
from lostneutral.circuit.wiring import pen_run
from lostneutral.claims.model import About, Claim, Condition, Kind, Moment, Rank, sure
from lostneutral.consequences.devices import WOULD, WOULD_NOT, judged, residual_current_device
from lostneutral.consequences.diverted import heating_time, steady_warming, ways
from lostneutral.consequences.limits import cite, published


def reference(case, broken) -> About:
    """Return the conductor of a break as a reference: the PEN by that name."""
    if broken.conductor == "N":
        return About("pen" if pen_run(case, case.point(broken.feeding)) else "neutral", "N")
    return About("pe" if broken.conductor == "PE" else "line", broken.conductor)


def transposed(moment: Moment):
    """Yield a danger for each pair of conductors that is transposed and has the neutral or protective conductor in it."""
    for cross in moment.case.crosses:
        yield Claim(Kind.TRANSPOSED, About("conductors", " and ".join(cross.conductors)),
                    Rank.DANGER if {"N", "PE"} & set(cross.conductors) else Rank.WARNING, (cross.point,),
                    Condition("always"), confidence="certain", because="certain: it is what the case says",
                    facts={"conductors": tuple(cross.conductors)})


def carried_before(moment: Moment):
    """Yield a note for each broken conductor: what it carried while it was sound."""
    for broken in moment.case.breaks_after():
        amps = _current(moment.before, broken)
        if amps is not None:
            yield Claim(Kind.CARRIED, reference(moment.case, broken), Rank.NOTE, (broken.feeding,), Condition("before"),
                        "current", "A", amps, because="calculated for the sound installation",
                        facts={"open": isinf(broken.resistance)})


def joint_heat(moment: Moment):
    """Yield the heat in each high-resistance joint, R I², against what a joint can dissipate; above it that is a fire risk."""
    entry, most = data.load("yardsticks")["joint"], data.load("yardsticks")["joint_sheds"]
    for joint in moment.case.breaks_after():
        if isinf(joint.resistance):
            continue
        amps = _current(moment.solution, joint)
        if amps is None:
            continue
        watts, sound = joint.resistance * amps**2, _current(moment.before, joint)
        rank = Rank.FIRE if watts >= most["value"] else Rank.WARNING if watts >= entry["noticeable"] else Rank.NOTE
        yield Claim(Kind.JOINT_HEAT, reference(moment.case, joint), rank, (joint.feeding,), moment.condition, "heat", "W",
                    watts, yardstick=published(most, edge="high" if rank is Rank.FIRE else "reference"),
                    because=sure(moment),
                    facts={"ohms": joint.resistance, "amps": amps, "at_first": sound and joint.resistance * sound**2})


def diverted(moment: Moment):
    """Yield the current that returns through earth and metal, by its paths, and what the largest of them heats."""
    small = data.load("diverted")["small_current"]["value"]
    found = [w for w in ways(moment.case, moment.before, moment.solution)
             if w.current is not None and abs(w.current) >= small and w.name != "electrode of the supply"]
    if not found:
        return
    found.sort(key=lambda w: -abs(w.current))
    amps = abs(found[0].current)
    yield Claim(Kind.DIVERTED, About("path"), Rank.WARNING, (), moment.condition, "current", "A", amps,
                because=sure(moment), facts={"paths": tuple((w.name, abs(w.current), w.share) for w in found)})
    table = data.load("diverted")
    rise, area = steady_warming(amps), table["conductor"]["area"]
    if rise >= table["noticeable"]["value"]:
        yield Claim(Kind.BOND_HEAT, About("path", found[0].name), Rank.FIRE, (), moment.condition, "temperature rise",
                    table["noticeable"]["unit"], rise, yardstick=published(table["noticeable"]), confidence="indicative",
                    because=f"indicative: {cite(table['heat_transfer'])} ({data.KNOWN['A']}); {cite(table['insulation'])} "
                            f"({data.KNOWN[table['insulation']['known']]}); area: {table['conductor']['source']}",
                    facts={"amps": amps, "area": area, "seconds": heating_time(amps)})


def fault_devices(moment: Moment):
    """Yield what devices for excess and residual current are expected to do, by the currents that were calculated."""
    case = moment.case
    transposed = any({"N", "PE"} & set(c.conductors) for c in case.crosses)
    if not transposed and not any(b.conductor == "N" for b in case.breaks_after()):
        return
    found = [judged(residual_current_device(case, p.name), case, moment.solution) for p in case.points
             if p.kind != "joint" and not pen_run(case, p)]
    seen = [j for j in found if j.answer != WOULD_NOT and j.value is not None]
    worst = max(seen or [j for j in found if j.value is not None], key=lambda j: j.value, default=None)
    lines = [max((abs(i) for (_, conductor), i in s.currents.items() if i is not None and conductor in case.supply.lines),
                 default=None) if s else None for s in (moment.before, moment.solution)]
    entry = data.load("protection")["fault_current_devices"]
    yield Claim(Kind.FAULT_DEVICES, About("device"), Rank.WARNING if worst and worst.answer == WOULD else Rank.NOTE,
                tuple(dict.fromkeys(j.device.point for j in sorted(seen, key=lambda j: -j.value))), moment.condition,
                "residual current", "A", worst.value if worst else None,
                yardstick=worst and replace(worst.device.threshold.yardstick,
                                            edge="high" if worst.answer == WOULD else "reference"),
                because=f"{data.KNOWN[entry['known']]}: {cite(entry)}",
                facts={"answer": worst.answer if worst else "", "judged": len(found), "line_before": lines[0],
                       "line_after": lines[1], "transposed": transposed})


def _current(solution, broken):
    i = solution.currents.get((broken.feeding, broken.conductor)) if solution else None
    return None if i is None else abs(i)
