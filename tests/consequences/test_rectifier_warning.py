"""The warning where phasors show only a stand-in for a rectifier's pulses."""

import pytest
from handmade_star import find, settled, star_case

SUPPLY = {"power": 60.0, "power_factor": 0.6}


def warnings(front_end, **case):
    case = star_case(kind="electronic", parameters=SUPPLY | {"front_end": front_end}, **case)
    return [f for f in find(case, settled(case)) if f.subject == "rectifier inputs"]


def test_rectifiers_on_a_broken_neutral_are_named_and_no_phase_is_claimed():
    # practice: pulses at the crests have no way back but the other phases
    (found,) = warnings("rectifier")
    assert found.severity == "warning"
    assert all(f"'on {line}'" in found.message for line in ("L1", "L2", "L3"))
    assert "Nothing is claimed about which phase" in found.message


@pytest.mark.parametrize(("front_end", "case"), [("corrected", {}), ("rectifier", {"breaks": ()})])
def test_no_warning_without_rectifiers_or_without_a_break(front_end, case):
    # invariant: nothing to warn of
    assert not warnings(front_end, **case)
