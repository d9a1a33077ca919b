"""The warning where phasors show only a stand-in for a rectifier's pulses."""

import pytest
from handmade_star import find, of_kind, settled, star_case

from lostneutral.claims.model import Kind, Rank
from lostneutral.words.english import said

SUPPLY = {"power": 60.0, "power_factor": 0.6}


def warnings(front_end, **case):
    case = star_case(kind="electronic", parameters=SUPPLY | {"front_end": front_end}, **case)
    return [(case, c) for c in of_kind(find(case, settled(case)), Kind.RECTIFIERS)]


def test_rectifiers_on_a_broken_neutral_are_named_and_no_phase_is_claimed():
    # practice: pulses at the crests have no way back but the other phases
    ((case, found),) = warnings("rectifier")
    assert (found.rank, found.facts["items"], found.confidence) == (Rank.WARNING, ("on L1", "on L2", "on L3"), "unsure")
    assert "Nothing is said about which line of several with such supplies collapses" in said(found, case).message


@pytest.mark.parametrize(("front_end", "case"), [("corrected", {}), ("rectifier", {"breaks": ()})])
def test_no_warning_without_rectifiers_or_without_a_break(front_end, case):
    # invariant: nothing to warn of
    assert not warnings(front_end, **case)
