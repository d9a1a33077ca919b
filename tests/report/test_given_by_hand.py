"""What the report says was given, recorded and measured, of values put in by hand. Kind of all: arithmetic, or behaviour laid down."""

from dataclasses import replace
from math import inf
from types import SimpleNamespace

import handmade
import pytest
from drawn import drawn, texts, upright

from lostneutral.case.model import (
    Assumption,
    Break,
    Cable,
    Changeover,
    Cross,
    Event,
    Generator,
    Installed,
    Operated,
    Path,
    SupplyTransformer,
)
from lostneutral.case.seen import Observation, Recording
from lostneutral.circuit.waveform.waves import Wave
from lostneutral.report.documents import given
from lostneutral.report.evidence import recorded
from lostneutral.report.waveform import words
from lostneutral.report.waveform.rows import LinkRow

CASE = handmade.star([100.0, 200.0, 300.0]).case


def rows(blocks):
    """The rows of the only table of `blocks`, or of a table by itself."""
    (made,) = blocks if isinstance(blocks, list) else [blocks]
    return [tuple(row) for row in made["rows"]]


# Given

def test_impedances_and_figures_as_they_are_printed():
    assert [given._ohms(z) for z in (0j, 1 + 2j, 0.5 - 0.25j, -0.0 + 0j)] == ["0 (ideal)", "1.00 + j2.00 ohm", "0.500 − j0.250 ohm", "0 (ideal)"]
    assert [given._resistance(x) for x in (inf, 0.0, 2.5)] == ["open", "sound", "2.5 ohm"]
    assert [given._value(x) for x in (True, False, (1.0, 2.5), {"N": 0.01}, 230.0, "halogen")] == ["yes", "no", "1, 2.5", "N 0.01", "230", "halogen"]
    assert given._named({"power": 60.0, "colour_temperature": 2800.0}) == ["power 60 W", "colour temperature 2800 K"]
    assert given._cable(Cable()) == "ideal" and given._cable(Cable(1 + 0j, 2 + 0j, 0j, {"length": 25.0})) == "length 25 m; line 1.00 + j0 ohm; neutral 2.00 + j0 ohm"


def test_the_supply_and_its_points():
    table = dict(rows(given._supply(CASE)))
    assert table["source voltages"] == "L1 230.0 V at 0.0°; L2 230.0 V at -120.0°; L3 230.0 V at 120.0°" and table["earthing"] == "TN-C-S"
    assert dict(rows(given._supply(replace(CASE, supply=replace(CASE.supply, earthing=None)))))["earthing"] == "not known"
    (point,) = rows(given._points(CASE))
    assert point[:4] == ("intake", "intake", "supply", "L1, L2, L3") and point[5] == "20 ohm"
    assert rows(given._points(replace(CASE, points=(replace(CASE.points[0], electrode=None),))))[0][5] == "–"


def test_sources_as_given():
    assert given._sources(CASE) == []
    trafo = SupplyTransformer("Dyn11", 1e5, 0.03 + 0.04j, 0.9, 1j, 1j)
    table = dict(rows(given._sources(replace(CASE, supply=replace(CASE.supply, transformer=trafo)))))
    # 3 × 230² / 100 kVA = 1.587 ohm
    assert table == {"vector group": "Dyn11", "rated power": "100 kVA", "short-circuit impedance, each line": "0.0476 + j0.0635 ohm", "core": "three-limb"}
    sets = (Generator("g", "generator", {}, 5000.0, 1 + 0j, 1 + 0j, 0j, Cable(), True, 9.0), Generator("h", "inverter", {}, None, 1 + 0j, 1 + 0j, 0j, Cable(), False, None))
    second, changeovers = given._sources(replace(CASE, generators=sets, changeovers=(Changeover("c", "intake", "g", ("L1", "N"), "supply", ()),)))
    assert [r[2:3] + r[4:] for r in rows(second)] == [("5.00 kVA", "bonded", "9 ohm"), ("–", "floating", "–")]
    assert rows(changeovers)[0][:4] == ("c", "intake", "g", "L1, N")


def test_faults_devices_paths_and_events_as_given():
    broken = replace(CASE, breaks=(Break("intake", "N", 2.0), Break("supply", "L1", inf, "fuse")), crosses=(Cross("intake", ("L1", "N")),))
    assert [r[1:] for r in rows(given._breaks(broken))] == [("intake", "2 ohm"), ("(high-voltage side)", "open"), ("intake", "transposed")]
    assert given._breaks(replace(CASE, breaks=())) == [] == given._devices(CASE) == given._paths(CASE) == given._events(CASE)
    device = lambda **more: given._ratings(Installed(**{"name": "d", "kind": "fuse", "point": "intake", "poles": ("L1",)} | more))
    assert device() == "–" and device(kind="residual-current device", rated_residual=0.03, supply="line to neutral") == "30 mA; supplied by line to neutral"
    assert device(rated_current=16.0) == "16 A" and device(low=207.0, high=253.0, touch=50.0, within=0.5) == "below 207 V; above 253 V; touch voltage above 50 V; within 0.5 s"
    assert rows(given._paths(replace(CASE, paths=(Path("intake", "earth", 2.0),)))) == [("intake", "earth", "2 ohm")]
    events = (Event(1.0, Break("intake", "N", 0.0)), Event(2.5, load="Lamp L1", on=False), Event(3.0, load="Lamp L1", on=True))
    told = rows(given._events(replace(CASE, events=events)))
    assert [t for t, _ in told] == ["1 s", "2.5 s", "3 s"] and told[0][1].endswith(": sound") and [x for _, x in told[1:]] == ["Lamp L1 switched off", "Lamp L1 switched on"]


def test_loads_and_observations_as_given():
    lamp, *_ = rows(given._loads(CASE))
    assert lamp == ("Lamp L1", "resistive", "L1-N", "intake", "230.0 V", "1", "on", "power 100 W")
    assert rows(given._loads(replace(CASE, loads=(replace(CASE.loads[0], on=False, parameters={}),))))[0][6:] == ("off", "–") and given._loads(replace(CASE, loads=())) == []
    seen = (Observation("intake", ("L1", "N"), 240.0, 2.0), Observation("intake", ("L1", "N"), 240.0, details={"time": 60.0}), Observation(load="Lamp L1", seen="brighter", within=5.0))
    made = replace(CASE, observations=seen, operated=(Operated("d", True, {}), Operated("d", False, {"kept": "x"})),
                   recordings=(Recording("m.csv", "", "intake", ("L1", "N"), (0.0, 1.0), (230.0, 231.0)),))
    assert rows(given._observations(made)) == [
        ("intake L1-N", "240.0 V ± 2 V", "–"), ("intake L1-N", "240.0 V", "time 60"), ("Lamp L1", "brighter", "within 5 s"), ("d", "operated", "–"),
        ("d", "did not operate", "kept x"), ("intake L1-N", "recording of 2 values", "m.csv")]
    assert given._observations(CASE) == []


def test_what_was_assumed_names_like_subjects_once():
    result = SimpleNamespace(assumptions=(Assumption("a", "x", "1", "why"), Assumption("b", "y", "2", "why"), Assumption("c", "x", "1", "why")), case=replace(CASE, warnings=("odd",)))
    made = given.assumed(result)
    assert [(r[0], r[1]) for r in rows(made[2])] == [("a and c", "x"), ("b", "y")] and made[-1]["text"] == "Note on the case: odd"
    none = given.assumed(SimpleNamespace(assumptions=(), case=CASE))
    assert [b.get("text") for b in none[1:]] == ["Nothing had to be assumed."] and given.old_colours(SimpleNamespace(case=CASE)) == []


# Recorded

HOUR = Recording("m.csv", "", "intake", ("L1", "N"), tuple(60.0 * k - 120.0 for k in range(60)), tuple([230.0] * 30 + [260.0] * 30), 60.0)


def test_a_recording_in_words():
    told = lambda **more: recorded.recording_words(replace(CASE, recordings=(replace(HOUR, **more),)))[0]
    # the change is within a mean of the end of the first level
    assert told() == ("L1-N at intake (m.csv): 60 values from −2 min to 57 min after time 0; each a mean over 60 seconds; largest change that lasts: from 230 to "
                      "260 V, between 26 min and 28 min.")
    assert "from 2025-11-08 13:58 to 2025-11-08 14:57;" in told(zero="2025-11-08 14:00") and "each a mean" not in told(averaging=0.0)
    assert "; clock 10 minutes fast, taken out ± 20 seconds; " in told(clock_error=600.0, clock_deviation=20.0) and "; clock 10 minutes slow, taken out; " in told(clock_error=-600.0)
    assert "; clock ± 20 seconds; " in told(clock_deviation=20.0) and "clock" not in told()
    assert told(fitted_after=True).endswith(f"; {recorded.AFTERWARDS}.") and told(volts=(230.0,) * 60).endswith("; no change that lasts.")
    changed, after = recorded.recorded_in_short(replace(CASE, recordings=(HOUR, replace(HOUR, fitted_after=True))))
    assert after == f"L1-N at intake (m.csv) was {recorded.AFTERWARDS}." and changed.startswith("The recorded voltages changed at about 27 min after time 0 (")


def test_gaps_are_counted_and_three_are_named():
    times = [60.0 * k for k in range(60) if k % 12 not in (3, 4, 5, 6)]
    made = replace(HOUR, times=tuple(times), volts=(230.0,) * len(times))
    said = recorded.recording_words(replace(CASE, recordings=(made,)))[0]
    assert "; 5 gaps: " in said and said.count(" to ") == 4 and " and others; no change" in said  # three of them, and the whole


@pytest.mark.parametrize(("step", "unit", "size"), [(1.0, "seconds", 1.0), (60.0, "minutes", 60.0), (600.0, "hours", 3600.0), (86400.0, "days", 86400.0)])
def test_recordings_are_drawn_over_what_is_calculated(step, unit, size):
    times = tuple(step * k for k in range(1, 31))
    made = replace(CASE, breaks=(), events=(Event(step * 8, Break("intake", "N")),), recordings=(replace(HOUR, times=times, volts=tuple(200.0 + k for k in range(30)), averaging=step),))
    over = {0: [recorded.Calculated(step * 5, step * 10, 210.0, 220.0, 240.0, ("L1", "N"))]}
    (axes,) = drawn(recorded.recorded_over_calculated, made, over, "a cause")
    lines = [([*x.get_xdata()], [*x.get_ydata()]) for x in axes.lines]
    assert (pytest.approx([t / size for t in times]), [200.0 + k for k in range(30)]) in lines and ([step * 5 / size, step * 10 / size], [220.0, 220.0]) in lines
    assert axes.get_xlim() == pytest.approx((0.0, step * 30 / size)) and axes.get_ylim() == (188.0, 252.0)  # 12 V beyond what is drawn
    assert axes.get_xlabel().startswith(f"{unit} after time 0\n") and axes.get_title(loc="left") == "L1-N at intake" and upright(axes) == [pytest.approx(step * 8 / size)]
    area = axes.collections[0].get_paths()[0].vertices
    assert (area[:, 1].min(), area[:, 1].max()) == (209.0, 241.0)  # a volt beside


def test_a_gap_is_drawn_and_the_alternative_says_what_is_seen():
    times = tuple([60.0 * k for k in range(20)] + [60.0 * k for k in range(40, 60)])
    gap = replace(HOUR, times=times, volts=(230.0,) * 39 + (232.0,))
    (axes,) = drawn(recorded.recorded_over_calculated, replace(CASE, recordings=(gap,)), {}, "a cause")
    assert texts(axes)["gap"] == pytest.approx(((1140 + 2400) / 2 / 60, 230.05))
    assert [len(x.get_xdata()) for x in axes.lines if x.get_gid() == "recorded"] == [20, 20]
    assert recorded._said_of(gap, [recorded.Calculated(0.0, 60.0, 1.0, 2.0, 3.0, ("L1", "N"))]) == (
        "L1-N at intake: 230 V at first, 232 V at last, between 230 and 232 V; L1-N calculated from 0 s to 60 s: 1 to 3 V; 1 gap.")
    assert recorded._said_of(replace(gap, fitted_after=True), ()) == f"L1-N at intake: {recorded.AFTERWARDS}."
    assert [recorded._line_of(SimpleNamespace(between=x)) for x in (("L2", "N"), ("N", "L3"), ("N", "PE"), ("N", "earth"))][:2] == ["L2", "L3"]


# Waveforms

def link(name="TV", line="L1", after=330.0, before=310.0, verdict="runs"):
    return LinkRow(name, f"{line}-N", line, before, after, after - 5, after + 5, 400.0, 127.0, verdict)


def test_links_in_words():
    assert words.span_of_links([310.2, 310.4]) == "310" and words.span_of_links([100.0, 310.0]) == "100 to 310"
    assert words._lines([link()]) == "L1-N" and words._lines([link(), link("x", "L2"), link("y", "L3"), link("z", "L2")]) == "L1-N, L2-N and L3-N"
    opened = replace(CASE, breaks=(Break("intake", "N", inf),))
    over, cut = link("a", "L1", 420.0), link("b", "L2", 110.0)
    assert words._apart(opened, [], [over]) == "No power supply would shut down, but the links of those on L1-N would be at 420 V d.c., above the rating of their capacitors."
    assert words._apart(opened, [cut], []) == "The voltages of the three lines would collapse: the power supplies on L2-N would be at their cut-off, with 110 V d.c. inside."
    assert words._apart(opened, [cut], [over]).endswith("; the links of those on L1-N would be at 420 V d.c., above the rating of their capacitors.")
    assert words._apart(replace(CASE, breaks=()), [cut], []).startswith("The power supplies on L2-N would be at their cut-off")


def wave(rms, *harmonics, average=None):
    return Wave(rms, 1.4 * rms, average or rms, (*harmonics, *[0.0] * (40 - len(harmonics))), (0.0,) * 40, None)


@pytest.mark.parametrize(("rest", "then", "moved"), [(0.0, 1.0, True), (0.0, 0.99, False), (5.0, 5.9, False), (5.0, 6.0, True)])
def test_a_star_point_has_moved_by_a_volt(rest, then, moved):
    made = SimpleNamespace(before=SimpleNamespace(stars={"a": wave(rest), "b": None}), after=SimpleNamespace(stars={"a": wave(then), "b": None}))
    assert words._moved(made) is moved
    if rest == 0.0:
        assert words._moved(SimpleNamespace(before=None, after=made.after)) is moved


@pytest.mark.parametrize(("third", "told"), [(0.051, True), (0.049, False)])
def test_a_neutral_is_told_of_from_a_twentieth_of_third_harmonic(monkeypatch, third, told):
    found = [SimpleNamespace(feeding="a", current=1.0, third=third, line=2.0), SimpleNamespace(feeding="b", current=1.0, third=0.0, line=4.0)]
    monkeypatch.setattr(words, "neutral_rows", lambda case, waveforms: found)
    said = words._neutral(CASE, None)
    assert said == (f"The neutral in the cable to a would carry 1.00 A, 0.50 times the largest line current; the third harmonic in it is {third:.4f} A." if told else "")
    monkeypatch.setattr(words, "neutral_rows", lambda case, waveforms: [])
    assert words._neutral(CASE, None) == ""


def test_meters_that_are_deceived(monkeypatch):
    made = lambda *waves: [SimpleNamespace(line="L1", place="house", after=w) for w in waves]
    monkeypatch.setattr(words, "phase_rows", lambda case, waveforms: made(wave(200.0, average=210.0), wave(200.0, average=150.0), wave(0.9, average=9.0), None))
    assert words.deceived(CASE, None) == ("Here, on L1 at house after the break, a true-r.m.s. meter would show 200 V, an average-responding one 150 V, and the crest is 280 V, "
                                          "where a sine of that r.m.s. value has 283 V.")
    monkeypatch.setattr(words, "phase_rows", lambda case, waveforms: made(wave(200.0, average=200.1)))
    assert words.deceived(CASE, None) == "Here the two kinds of meter agree to a few per cent."
    monkeypatch.setattr(words, "phase_rows", lambda case, waveforms: [])
    assert words.deceived(CASE, None) == "Here the two kinds of meter agree to a few per cent."
