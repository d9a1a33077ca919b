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
    found = [finding for kind in KINDS for finding in kind(case, before, after)]
    return tuple(sorted(found, key=lambda f: SEVERITIES.index(f.severity)))
