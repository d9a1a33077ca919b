"""What the computed voltages mean, ranked from danger to note."""

from lostneutral.case.model import Case
from lostneutral.circuit.solution import State
from lostneutral.consequences import (
    conductors,
    damage,
    diverted,
    equipment,
    live_parts,
    protection,
    settling,
    touch,
    voltages,
)
from lostneutral.result import Finding

SEVERITIES = ("danger", "damage", "warning", "note")

# Each takes (case, before, after) and yields findings; a new kind of finding is one more function here.
KINDS = (
    live_parts.metalwork,
    touch.person,
    touch.neighbours,
    live_parts.neutral_live,
    touch.not_known,
    touch.charging_points,
    diverted.other_ways,
    voltages.beyond_triangle,
    voltages.temporary_overvoltage,
    voltages.lines_outside_band,
    voltages.loss_of_neutral_stress,
    damage.loads_harmed,
    equipment.load_voltages,
    protection.surge_devices,
    equipment.heater_power,
    conductors.exchanged,
    conductors.joint_heat,
    settling.several_states,
    settling.rectifiers,
    settling.reader_warnings,
    equipment.outside_measured_range,
    conductors.nothing_broken,
    conductors.current_before,
    conductors.fault_devices,
    protection.overvoltage_device_acts,
    protection.iti_curve,
    equipment.lamp_light,
    equipment.within_band,
    voltages.floating,
    voltages.lines_outside_band_before,
    conductors.voltage_drop_before,
)


def findings(case: Case, before: State, after: State) -> tuple[Finding, ...]:
    """Return every finding, danger first, then damage, warning and note; within one severity in the order of KINDS.

    Where several settled states are possible and none is known to be arrived at, each finding says in
    how many of them it holds.
    """
    found = [finding for kind in KINDS for finding in _gathered(kind(case, before, after))]
    return ranked(found)


def ranked(found) -> tuple[Finding, ...]:
    """Return the findings `found`, danger first, in their order within one severity."""
    return tuple(sorted(found, key=lambda f: SEVERITIES.index(f.severity)))


MOST_ALIKE = 12  #: findings of one kind and severity that are given one by one
SHOWN_ALIKE = 6  #: of more, so many
NAMED = 30  #: places that are named of those left


def _gathered(found):
    """Return the findings of one kind with those alike, at ever more places, gathered in one after the first few."""
    alike = {}
    for finding in found:
        what, of, which = _parted(finding.subject)
        alike.setdefault((finding.severity, what, of) if which else finding.subject, []).append((finding, which))
    for key, same in alike.items():
        yield from (finding for finding, _ in same[:SHOWN_ALIKE if len(same) > MOST_ALIKE else None])
        if len(same) > MOST_ALIKE:
            yield _others(key, same[0], [which for _, which in same[SHOWN_ALIKE:]])


def _parted(subject):
    """Return "load 'x'" and "N at y" in three: what it is, the word between, and which one."""
    of = next((word for word in (" at ", " '") if word in subject), "")
    return subject.partition(of) if of else (subject, "", "")


def _others(key, first, names):
    """Return the finding that stands for those of `names`, alike to `first` (a finding and which one it is of)."""
    severity, what, of = key
    finding, which = first
    places, bare = of == " at ", which.strip("'")
    word = "at" if places else "for"
    more = f" and {len(names) - NAMED} more" if len(names) > NAMED else ""
    listed = ", ".join(name.strip("'") for name in names[:NAMED])
    return Finding(severity, f"{what} at {len(names)} more places" if places else f"{len(names)} more {what}s",
                   f"As {word} {bare}, each with a figure of its own, also {word} {listed}{more}.", None, finding.limit,
                   finding.sure)
