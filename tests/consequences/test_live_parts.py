"""What can give a shock: neutral and metalwork, on settled states written by hand."""

from dataclasses import replace
from math import inf

import pytest
from handmade_star import find, of_kind, only, settled, star_case

from lostneutral.case.model import Break, Cross, Point
from lostneutral.claims.model import Kind, Rank
from lostneutral.data import KNOWN
from lostneutral.words.english import said


@pytest.mark.parametrize("shift", [0j, 3 + 0j, 100 + 0j])
def test_an_open_neutral_is_a_danger_even_when_it_happens_to_be_low(shift):
    case = star_case(earthing="TN-S")
    live = only(find(case, settled(case, shift)), Kind.NEUTRAL_LIVE, where="intake")
    assert (live.rank, live.value, live.unit, live.facts["open"]) == (Rank.DANGER, abs(shift), "V", True)
    # published, secondary: IEC 60364-4-41, 50 V; it decides nothing here
    assert (live.yardstick.value, live.yardstick.known, live.yardstick.edge) == (50.0, KNOWN["2"], "reference")
    assert "a low value gives no assurance of safety" in said(live, case).message


def test_a_floating_neutral_is_a_danger_without_a_figure():
    case = star_case()
    found = find(case, settled(case, None))
    live = only(found, Kind.NEUTRAL_LIVE)
    assert (live.rank, live.value, live.span, live.facts["floats"]) == (Rank.DANGER, None, None, True)
    assert "any voltage up to that of a line" in said(live, case).message
    loose = only(found, Kind.FLOATING, where="intake")
    assert (loose.rank, loose.facts["conductors"], loose.value) == (Rank.NOTE, ("N",), None)
    assert "A high-impedance voltmeter may show anything there" in said(loose, case).message


@pytest.mark.parametrize(("shift", "danger"), [(20 + 0j, False), (50 + 0j, False), (60 + 0j, True)])
def test_a_high_resistance_joint_makes_the_neutral_a_danger_above_the_touch_limit(shift, danger):
    case = star_case(breaks=(Break("intake", "N", 2.0),), earthing="TN-S")
    found = of_kind(find(case, settled(case, shift)), Kind.NEUTRAL_LIVE)
    assert [(c.rank, c.value, c.facts["open"]) for c in found] == ([(Rank.DANGER, abs(shift), False)] if danger else [])


def test_metalwork_is_taken_as_live_when_the_earthing_is_not_known():
    case = star_case()
    unknown = only(find(case, settled(case, 0j)), Kind.METALWORK_UNKNOWN)
    assert (unknown.rank, unknown.about.what, unknown.confidence) == (Rank.DANGER, "installation", "unsure")
    assert "treat all exposed metalwork as live" in said(unknown, case).lead
    sound = star_case(breaks=())
    assert not of_kind(find(sound, settled(sound)), Kind.METALWORK, Kind.METALWORK_UNKNOWN)


@pytest.mark.parametrize("earthing", ["TN-C-S", "TN-C"])
def test_an_open_pen_makes_metalwork_live_and_the_main_switch_does_not_help(earthing):
    case = star_case(earthing=earthing)
    live = only(find(case, settled(case, 100 + 0j, pe=96 + 0j)), Kind.METALWORK, where="intake")
    assert (live.rank, live.value, live.unit) == (Rank.DANGER, 96.0, "V")
    assert (live.facts["cause"], live.facts["ref"]) == ("pen open", ("intake",))
    assert (live.yardstick.value, live.yardstick.edge) == (50.0, "high")
    message = said(live, case).message
    assert "Opening the main switch need not clear it: the protective conductor is not switched" in message
    assert "small between metal parts bonded together indoors, full to the ground outdoors" in message


@pytest.mark.parametrize(("resistance", "pe", "rank", "cause"), [
    (inf, 5.0, Rank.DANGER, "pen open"), (inf, None, Rank.DANGER, "pen open"), (2.0, 10.0, Rank.WARNING, "pen joint"),
    (2.0, 80.0, Rank.DANGER, "pen joint")])
def test_rank_of_a_pen(resistance, pe, rank, cause):
    case = star_case(earthing="TN-C-S", breaks=(Break("intake", "N", resistance),))
    live = only(find(case, settled(case, 0j, pe=pe)), Kind.METALWORK, where="intake")
    assert (live.rank, live.value, live.facts["cause"]) == (rank, pe, cause)


@pytest.mark.parametrize(("earthing", "words"), [("TN-S", "neutral and protective conductor are separate from the source"),
                                                 ("TT", "own earth electrode")])
def test_earth_terminals_apart_from_the_neutral_are_noted_as_such(earthing, words):
    case = star_case(earthing=earthing)
    quiet = only(find(case, settled(case, 100 + 0j)), Kind.METALWORK, where="intake")
    assert (quiet.rank, quiet.facts["cause"], quiet.value) == (Rank.NOTE, "separate", 0.0)
    assert words in said(quiet, case).message and "Test before touching" in said(quiet, case).more
    live = only(find(case, settled(case, 100 + 0j, pe=60 + 0j)), Kind.METALWORK, where="intake")
    assert (live.rank, live.value) == (Rank.DANGER, 60.0)


def test_an_earth_terminal_without_an_earth_is_a_danger():
    case = replace(star_case(earthing="TT"), points=(Point("intake", "board"),))  # not an intake, which has one
    found = only(find(case, settled(case, 0j, pe=None)), Kind.METALWORK, where="intake")
    assert (found.rank, found.facts["cause"], found.value, found.facts["floats"]) == (Rank.DANGER, "no electrode", None, True)
    assert "no electrode or path ties it to earth" in said(found, case).lead and said(found, case).computed is None


def test_a_break_beyond_the_separation_leaves_the_earth_terminal_alone():
    case = star_case(earthing="TN-C-S")
    case = replace(case, points=(*case.points, Point("board", "board", "intake")), breaks=(Break("board", "N"),))
    after = settled(case, 0j)
    after = replace(after, nodes=after.nodes | {("board", line): u for line, u in case.supply.phasors.items()}
                    | {("board", "N"): 100 + 0j, ("board", "PE"): 0j})
    found = find(case, after)
    apart = only(found, Kind.METALWORK)
    assert (apart.rank, apart.where, apart.facts["cause"]) == (Rank.NOTE, ("board",), "separate")
    assert "already separate where the neutral is broken" in said(apart, case).lead
    live = only(found, Kind.NEUTRAL_LIVE)
    assert (live.rank, live.where, live.value) == (Rank.DANGER, ("board",), 100.0)


def test_a_broken_protective_conductor_is_a_warning_while_its_voltage_is_low():
    case = star_case(earthing="TN-S", breaks=(Break("intake", "PE"),))
    found = only(find(case, settled(case, 0j)), Kind.METALWORK, where="intake")
    assert (found.rank, found.facts["cause"]) == (Rank.WARNING, "pe broken")


def test_transposed_pen_and_line_is_a_danger():
    case = replace(star_case(earthing="TN-C-S", breaks=()), crosses=(Cross("intake", ("L1", "N")),))
    found = find(case, settled(case, 230 + 0j, pe=230 + 0j))
    live = only(found, Kind.METALWORK, where="intake")
    assert (live.rank, live.value, live.facts["cause"], live.facts["ref"]) == (
        Rank.DANGER, 230.0, "transposed", ("intake", "L1", "N"))
    crossed = only(found, Kind.TRANSPOSED, where="intake")
    assert (crossed.rank, crossed.facts["conductors"], crossed.confidence) == (Rank.DANGER, ("L1", "N"), "certain")
    assert not of_kind(found, Kind.NOTHING_BROKEN)


def test_two_transposed_lines_are_no_danger_of_shock():  # practice: direction of rotation only
    case = replace(star_case(earthing="TN-S", breaks=()), crosses=(Cross("intake", ("L1", "L2")),))
    assert only(find(case, settled(case, 0j)), Kind.TRANSPOSED).rank is Rank.WARNING
