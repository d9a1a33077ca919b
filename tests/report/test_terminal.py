"""Terminal text: everything said, no escape code unless asked for, no line wider than asked."""

import re
from dataclasses import replace

import handmade
import pytest
from read_back import squeezed as without_spaces

from lostneutral.circuit.solution import State
from lostneutral.report.screen.lines import width_of
from lostneutral.report.screen.terminal import terminal_text


def squeezed(text):
    return re.sub(r"\s+", " ", text)


def test_says_everything():
    result = handmade.star([100.0, 200.0, 300.0])
    text, packed = squeezed(terminal_text(result)), without_spaces(terminal_text(result))  # a line may end at a hyphen
    for load in result.case.loads:
        assert load.name in text
    for finding in result.findings:
        assert all(without_spaces(said) in packed for said in (finding.message, finding.subject, finding.sure))
        assert finding.limit is None or without_spaces(f"{finding.limit.source} — {finding.limit.known}") in packed
    for caution in result.cautions:
        assert caution in text
    assert "289.4 1.26 above limits" in text and "239.4 1.04 within limits" in text and "175.7 0.76 below limits" in text
    assert "EN 50160, clause 4.2.2 (edition 2010" in text and "read in a secondary source" in text
    assert "1 value or model choice not given in the case was assumed" in text
    assert "66.4 V at 150.0°" in text


def test_findings_stand_in_rank_order():
    text = terminal_text(handmade.star([100.0, 200.0, 300.0]))
    places = [text.index(f"\n{word}: ") for word in ("DANGER", "RISK OF DAMAGE", "WARNING", "NOTE")]
    assert places == sorted(places)


@pytest.mark.parametrize("width", [60, 80, 120])
def test_plain_text_has_no_escape_and_keeps_its_width(width):
    text = terminal_text(handmade.star([100.0, 200.0, 300.0], names=["A long name of a load " * 3, "b", "c"]),
                         colour=False, width=width)
    assert "\x1b" not in text
    wide = [line for line in text.splitlines() if width_of(line) > width]
    # a table has columns of words that are not broken: below 80 columns it may keep those
    assert all("  " in line.strip() and width_of(line) <= 80 for line in wide) and (width < 80 or not wide)


def test_colour_adds_escapes_and_no_words():
    result = handmade.star([100.0, 200.0, 300.0])
    coloured = terminal_text(result, colour=True)
    assert "\x1b[" in coloured
    assert re.sub(r"\x1b\[[0-9;]*m", "", coloured) == terminal_text(result, colour=False)


def test_control_characters_in_names_are_spelled_out():
    text = terminal_text(handmade.star([1.0, 2.0, 3.0], title="\x1b[2Jgone\u202egone", names=["a\x07", "b", "c"]))
    assert "U+001B[2Jgone U+202E".replace(" ", "") in text and "aU+0007" in text and "\x1b" not in text


def test_several_states_are_all_shown_and_said():
    text = squeezed(terminal_text(handmade.undecided()))
    assert "not decided by the loads alone" in text and "The loads are alike." in text
    assert all(name in text for name in ("after A", "after B", "after C"))


def test_a_before_without_solution_is_said():
    result = handmade.star([100.0, 200.0, 300.0])
    text = terminal_text(replace(result, before=State("before", (), "undecided", "a dead short")))
    assert "Before the fault: no settled state. a dead short" in text and "289.4" in text
