"""Earthing networks against closed forms worked out at 40 digits, to 1e-9."""

import mpmath as mp
import pytest
from earth_cases import EARTH, after, resistor, sharing_a_pipe, single, supply, touch

from lostneutral import analyse
from lostneutral.case.model import Break, Case, Path, Point
from lostneutral.claims.model import Kind, Rank

mp.mp.dps = 40


@pytest.mark.parametrize("own, source, ohms", [(20, 2, 23), (2.52, 0, 5.75), (100, 0.5, 529), (1, 10, 10)])
def test_single_premises_with_a_broken_pen(own, source, ohms):  # closed form: U0 RA / (RA + RB + Zload)
    expected = mp.mpf(230) * own / (mp.mpf(own) + mp.mpf(source) + mp.mpf(ohms))
    assert touch(single(own=own, source=source, ohms=ohms)) == pytest.approx(float(expected), rel=1e-9)


def test_electrode_for_70_volts_at_40_amperes():
    """Derived: RA = 70 U0 / (I (U0 − 70)), BS 7671:2018 Annex A722.3 from memory, gives 2.52 ohm at 230 V, 40 A."""
    needed = mp.mpf(70) * 230 / (40 * (mp.mpf(230) - 70))
    assert round(float(needed), 2) == 2.52
    assert touch(single(own=float(needed), source=0.0, ohms=230 / 40)) == pytest.approx(70.0, rel=1e-9)


@pytest.mark.parametrize("earthing", ["TN-S", "TT"])
def test_tn_s_and_tt_stay_at_earth(earthing):  # practice: the protective conductor does not follow the neutral
    case = single(earthing)
    assert touch(case) == pytest.approx(0.0, abs=1e-9)
    broken = after(case).nodes["intake", "N"]
    assert abs(broken) == pytest.approx(230.0, rel=1e-9)  # no way back at all: the neutral stands at the line


def test_a_break_beyond_the_parting_leaves_the_terminal_at_earth():  # practice
    case = single(breaks=())
    points = (*case.points, Point("board", "board", "intake"))
    case = Case("beyond", case.supply, points, (resistor("load", 23.0, "board"),), breaks=(Break("board", "N"),))
    assert touch(case, "board") == pytest.approx(0.0, abs=1e-9)


def test_two_premises_sharing_a_pipe():
    """Closed form: the pipe and the neighbour's PEN lie beside the own electrode in series with the source's."""
    case = sharing_a_pipe(pipe=0.5, own=20.0, load=23.0)
    by_pipe, by_earth = mp.mpf("0.5") + mp.mpf("0.1"), mp.mpf(20) + 2
    back = 1 / (1 / by_pipe + 1 / by_earth)
    total = 230 / (mp.mpf(23) + back)
    lifted = total * back  # from the supply's star point
    found = after(case)
    assert abs(found.nodes["a", "N"]) == pytest.approx(float(lifted), rel=1e-9)
    assert abs(found.earth_currents["path", 0]) == pytest.approx(float(lifted / by_pipe), rel=1e-9)
    assert abs(found.earth_currents["electrode", "a"]) == pytest.approx(float(lifted / by_earth), rel=1e-9)
    assert abs(found.between(("a", "PE"), EARTH)) == pytest.approx(float(lifted / by_earth * 20), rel=1e-9)
    assert abs(found.between(("a", "PE"), ("b", "PE"))) == pytest.approx(float(lifted / by_pipe / 2), rel=1e-9)


def test_parallel_earths():  # closed form: electrodes and pipes to earth in parallel
    case = single(own=30.0, paths=(Path("intake", "earth", 15.0), Path("intake", "earth", 60.0)))
    parallel = 1 / (mp.mpf(1) / 30 + mp.mpf(1) / 15 + mp.mpf(1) / 60)
    assert touch(case) == pytest.approx(float(230 * parallel / (parallel + 2 + 23)), rel=1e-9)
    currents = after(case).earth_currents
    into_earth = currents["electrode", "intake"] + currents["path", 0] + currents["path", 1]
    assert abs(into_earth + currents["electrode", "supply"]) < 1e-12  # invariant: what goes in comes out at the source


def test_a_zero_ohm_path_beside_a_bond_is_not_divided():  # invariant: a loop without impedance decides nothing
    case = single(paths=(Path("intake", "earth", 0.0), Path("intake", "earth", 0.0)))
    assert after(case).earth_currents["path", 0] is None


def test_an_open_protective_conductor_alone_is_no_lost_neutral():
    """Negative control: line to neutral stays normal, and nothing is claimed of a lost neutral."""
    result = analyse(single("TN-S", breaks=(Break("intake", "PE"),)))
    assert abs(result.after.reached.voltage("intake", "L1")) == pytest.approx(230.0, rel=1e-12)
    (metal,) = [c for c in result.claims if c.kind is Kind.METALWORK]
    assert metal.facts["cause"] == "pe broken" and metal.rank is Rank.WARNING
    assert {c.about.what for c in result.claims if c.kind is Kind.CARRIED} <= {"pe"}
    assert not {Kind.NEUTRAL_LIVE, Kind.LINE_ABOVE, Kind.LINE_BELOW, Kind.LINE_NONE, Kind.INSULATION, Kind.MAIN_SWITCH} & {
        c.kind for c in result.claims}
    said = " ".join(f.message for f in result.findings).casefold()
    for words in ("neutral is lost", "a lost neutral", "the neutral at intake", "loss of a neutral"):
        assert words not in said


def test_an_unconnected_neutral_at_no_load_floats():  # negative control
    case = Case("no load", supply("TN-S"), (Point("intake"),), (resistor("load", 23.0, on=False),),
                breaks=(Break("intake", "N"),))
    assert after(case).nodes["intake", "N"] is None
