"""Figures, rows and sentences of the reports from values put in by hand, at their edges. Kind of all: arithmetic, or behaviour laid down."""

import json
from dataclasses import replace
from math import inf, nan
from types import SimpleNamespace

import handmade
import numpy as np
import pytest

from lostneutral.case.seen import Spread, Unknown
from lostneutral.circuit import record
from lostneutral.circuit.record import Course, Occurrence
from lostneutral.circuit.repeating import repetitions
from lostneutral.circuit.solution import LoadResult, State
from lostneutral.errors import UsageError
from lostneutral.evidence.spans import Chance, Span
from lostneutral.report.base import rows, words
from lostneutral.report.course import figures as course_figures
from lostneutral.report.course import rows as course
from lostneutral.report.course.file import _story
from lostneutral.report.earth import figures as earth
from lostneutral.report.ranges import rows as ranges
from lostneutral.report.screen import compare_text, lines
from lostneutral.report.star import figures as star

STAR = handmade.star([100.0, 200.0, 300.0])


# Numbers and angles

def test_numbers_as_they_are_printed():
    assert [words.number(x) for x in (None, nan, inf, -0.04, 0.04, -1.25, 12.34)] == ["–", "–", "–", "0.0", "0.0", "-1.2", "12.3"]
    assert [words.number(x, 0) for x in (-0.4, 2.5, 1234.4)] == ["0", "2", "1234"]
    assert [words.significant(x, "A") for x in (None, 0.0, 1e-7, 0.0123456, 123456.0)] == ["–", "0 A", "0 A", "0.0123 A", "123000 A"]


def test_angles_and_sizes():
    assert [words.angle(x) for x in (None, 1e-10 + 0j, 1 + 0j, 1j, -1 + 0j, complex(-1, -0.0))] == [None, None, 0.0, 90.0, 180.0, 180.0]
    assert words.size(3 - 4j) == 5.0 and words.size(None) is None
    assert words.after_names("a") == ("after",) and words.after_names("abc") == ("after A", "after B", "after C")


def test_what_a_load_tells_of_its_state():
    made = LoadResult("x", ("L1", "N"), True, 1j, 1j, 1.0, 0.0, 1.0, {"light": 0.5, "filament_temperature": 2734.4, "works": True, "at_cut_off": True,
                                                                      "above_window": False, "odd_thing": 2.0})
    assert words.details(made) == "light 50.0 %, filament 2734 K, at its cut-off, going on and off, odd thing 2.000"
    assert words.details(None) == "–" and words.details(replace(made, on=False)) == "off" and words.details(replace(made, details={})) == "–"
    assert words.connection(made) == "L1-N"


def test_hostile_characters_are_spelled_out():
    assert words.visible("a\nb\tc\x1bd\u202ee\ud800") == "a b cU+001BdU+202EeU+D800"


# Voltages and states

def test_rows_of_lines_and_loads():
    after = STAR.after.reached
    (first, *_), (load, *_) = rows.point_rows(STAR.case, None, after), rows.load_rows(STAR.case, None, after)
    assert (first.place, first.line, first.before, first.after, first.ratio) == ("intake", "L1", None, pytest.approx(289.41, abs=0.01), pytest.approx(1.2583, abs=1e-4))  # √(19/12)
    assert (load.name, load.before, load.power_before, load.current_before, load.details_before) == ("Lamp L1", None, None, None, "–")
    both = rows.load_rows(STAR.case, STAR.before.reached, after)[0]
    assert (both.before, both.power_before, both.current_before) == (230.0, 100.0, pytest.approx(100 / 230)) and both.power_after == pytest.approx(158.3, abs=0.1)
    off = replace(after, loads=(replace(after.loads[0], on=False),))
    assert rows.load_rows(STAR.case, None, off)[0].verdict == "off"


def test_how_far_neutrals_stand():
    def of(z):
        return rows.neutral_shifts(STAR.case, replace(STAR.after.reached, nodes={("intake", "N"): z}))[0][1]

    assert (of(None), of(0.04 + 0j), of(0.06 + 0j), of(-30j), of(0j)) == (
        "no defined potential; no figure can be given", "0.0 V", "0.1 V at 0.0°", "30.0 V at -90.0°", "0.0 V")


def settled(*, attracting=True, reached=False):
    return replace(STAR.after.reached, attracting=attracting, reached=reached)


def test_states_that_do_not_decide_say_so():
    one, two = State("after", (settled(),)), State("after", (settled(), settled()), sensitive=("Boiler", "Oven"))
    assert rows.undecided(one) == f"{rows.OPEN}. 1 settled state was found."
    assert rows.undecided(two) == f"{rows.OPEN}. 2 settled states were found. 5 % more or less power of Boiler, Oven would lead to another of them."
    assert rows.undecided(replace(two, reason="They are alike.", sensitive=())) == f"{rows.OPEN}. They are alike."
    assert rows.undecided(replace(two, ends="cycle", reason="It restarts.")) == "The circuit has no steady state: it keeps changing. It restarts."
    held = State("after", (settled(reached=True), settled(attracting=False)), reason="Why.")
    assert rows.several(held) == "2 settled states were found, of which one is stable: the figures are of it. Why."
    assert rows.several(replace(held, solutions=(settled(reached=True), settled()))).startswith(f"{rows.OPEN}. Why. The figures are of the one")
    assert rows.settled_states(STAR.case, held) == (("1", "yes", "yes", "L1 289, L2 239, L3 176 V"), ("2", "no", "no", "L1 289, L2 239, L3 176 V"))


def test_a_cycle_in_words():
    span = {"lowest": 10.0, "highest": 300.4, "rms": 200.0}
    cycle = {"period": 0.5, "loads": {"Boiler": span}, "lines": {"house L1": span}, "neutrals": {"house": span}, "metalwork": {}, "links": {"TV": span},
             "restarts": [{"load": "TV", "met": {"Boiler": 390.0, "Lamp": 100.0}}, {"load": "TV", "met": {"Boiler": 390.0}}]}
    said = rows.cycle_words(SimpleNamespace(cycle=cycle))
    assert said == ("The cycle takes 0.500 s.", "Boiler: 10 to 300 V, r.m.s. 200 V", "house L1 line to neutral: 10 to 300 V, r.m.s. 200 V",
                    "neutral at house to remote earth: 10 to 300 V, r.m.s. 200 V", "d.c. link of TV: 10 to 300 V, r.m.s. 200 V",
                    "TV restarts: highest voltage then 390 V (Boiler).")
    assert rows.cycle_words(SimpleNamespace(cycle=None)) == ()


# Which rows and bars a figure has

def row(after, verdict="above limits", before=230.0, ratio=None):
    return SimpleNamespace(after=after, before=before, verdict=verdict, ratio=ratio)


def test_the_rows_furthest_from_nominal_are_drawn_in_their_order():
    table = [row(0, ratio=x) for x in (1.0, 1.3, None, 0.6, 1.35)]
    assert star.worst(table, 3) == (2, 3, 4) and star.worst(table, 9) == (0, 1, 2, 3, 4)  # nothing is as far as one can be
    assert star.worst([row(0, ratio=x) for x in (1.1, 0.9, 1.1)], 2) in ((0, 2), (0, 1))


def test_a_range_in_words():
    assert star._range_words([row(300.0), row(300.4)], 0) == "300 V: above limits"
    assert star._range_words([row(200.0, "within limits"), row(300.0), row(None)], 0) == "200 to 300 V: within limits or above limits"
    assert star._range_words([row(None, "no defined potential")], 1) == "no defined potential"


@pytest.mark.parametrize(("way", "across", "upright"), [
    (1, "left", "center"), (-1, "right", "center"), (1j, "center", "bottom"), (-1j, "center", "top"), (1 + 1j, "left", "bottom"),
    (0.34 + 0.94j, "center", "bottom"), (0.37 + 0.93j, "left", "bottom"), (-0.37 - 0.93j, "right", "top"), (0.93 - 0.37j, "left", "top"), (0.94 - 0.34j, "left", "center")])
def test_a_text_runs_away_from_what_it_stands_beside(way, across, upright):  # it turns at 0.35 of a unit
    told = []
    star._beside(SimpleNamespace(text=lambda x, y, text, **style: told.append((x, y, text, style["ha"], style["va"]))), 10 + 20j, 5 * complex(way), 2.0, "N")
    unit = complex(way) / abs(way)
    assert told == [(pytest.approx(10 + 2 * unit.real), pytest.approx(20 + 2 * unit.imag), "N", across, upright)]


def test_the_point_that_moved_most_is_drawn():
    case = replace(STAR.case, points=(STAR.case.points[0], replace(STAR.case.points[0], name="b"), replace(STAR.case.points[0], name="c")))

    def at(**neutral):
        return {(p, x): z for p, n in neutral.items() for x, z in [*handmade.PHASORS.items(), ("N", n)]}

    before = State("before", (replace(STAR.before.reached, nodes=at(intake=0j, b=0j, c=0j)),))
    for moved, most in (({"intake": 0j, "b": 60 + 0j, "c": 50 + 0j}, "b"), ({"intake": 0j, "b": 60 + 0j, "c": None}, "c"), ({"intake": 0j, "b": 0j, "c": 0j}, "intake")):
        after = State("after", (replace(STAR.after.reached, nodes=at(**moved)),))
        assert star.most_moved(SimpleNamespace(case=case, before=before, after=after)).name == most
    # without a state before, from nominal
    after = State("after", (replace(STAR.after.reached, nodes=at(intake=10 + 0j, b=0j, c=20 + 0j)),))
    assert star.most_moved(SimpleNamespace(case=case, before=State("before", ()), after=after)).name == "c"


def test_many_terminals_are_picked_evenly():
    assert earth._picked(list(range(5)), 5) == [0, 1, 2, 3, 4] and earth._picked(list(range(101)), 5) == [0, 25, 50, 75, 100]


def test_labels_at_one_height_are_moved_apart():  # 6 % of the top
    assert course_figures._apart([(100.0, "L1"), (101.0, "L2"), (300.0, "L3"), (110.0, "N")], 300.0) == [(100.0, "L1"), (118.0, "L2"), (136.0, "N"), (300.0, "L3")]


def test_stretches_of_equal_words_last():
    assert course_figures._spans([0.0, 1.0, 1.0, 2.0, 5.0], ["on", "on", "off", "on", "on"]) == [(0.0, 1.0, "on"), (1.0, 2.0, "off"), (2.0, 5.0, "on")]
    assert course_figures._spans([0.0, 1.0, 1.0, 1.0], ["on", "off", "on", "on"]) == [(0.0, 1.0, "on")]


def moment(time, kind="break", what="", phases=None):
    return Occurrence(time, kind, "", what, phases or {})


def test_moments_near_one_another_share_a_mark():
    times, neutral = np.array([0.0, 1.0, 1.0, 2.0, 3.0]), np.array([0j, 0j, 100 + 0j, 105 + 0j, 94 + 0j])
    made = SimpleNamespace(times=times, repetition=None, repetitions=(), moments=[moment(0.0, "start"), moment(1.0), moment(2.0), moment(3.0), moment(3.0, "end")])
    assert course_figures._marks(made, neutral) == {(0.0, 0.0): [1], (100.0, 0.0): [2, 3, 4]}  # 6 % of 105 V is 6.3 V
    further = np.array([0j, 0j, 100 + 0j, 107 + 0j, nan + 0j])
    assert course_figures._marks(made, further) == {(0.0, 0.0): [1], (100.0, 0.0): [2], (107.0, 0.0): [3]}


def test_a_course_of_hundreds_of_changes_is_told_as_far_as_its_table():
    # what a figure says in words goes into the PDF as one string, of 32767 letters at most (PDF/A)
    times = np.arange(301.0)
    made = SimpleNamespace(times=times, repetition=None, repetitions=(), moments=[moment(t, "mode", f"{t}") for t in times] + [moment(300.0, "end")])
    marks = course_figures._marks(made, np.zeros(301, complex))
    assert marks == {(0.0, 0.0): list(range(1, 41))}
    told = course_figures._told(f"{n}." for n in range(301))
    assert told[39:] == ["39.", "… and 261 more, in the result file."] and course_figures._told(f"{n}." for n in range(40))[-1] == "39."


def test_the_time_axis_is_even_up_to_ten_seconds():
    from matplotlib.figure import Figure

    def axis(last):
        axes = Figure().add_subplot()
        course_figures._time_axis(axes, SimpleNamespace(times=np.array([0.0, last])))
        return axes.get_xscale(), [float(x) for x in axes.get_xticks()], axes.get_xlim()

    assert axis(10.0) == ("linear", [0, 2, 4, 6, 8, 10], (0, 10)) and axis(0.0)[2] == (0, 1)
    scale, ticks, ends = axis(134.0)
    # 60 is below 0.45 of 134; nearer to the end, the two times would stand on one another
    assert scale == "symlog" and ticks == [0.0, 0.01, 0.1, 1.0, 10.0, 60.0, 134.0] and ends == (0, 134)
    assert axis(133.0)[1] == [0.0, 0.01, 0.1, 1.0, 10.0, 133.0]


# A course in words

@pytest.mark.parametrize(("seconds", "told"), [
    (0.0, "0 s"), (0.999, "1000 ms"), (1.0, "1 s"), (9.94, "9.9 s"), (10.0, "10 s"), (119.9, "120 s"), (120.0, "2 min"), (121.4, "2 min 1 s"),
    (7199.0, "119 min 59 s"), (7200.0, "2 h"), (7259.0, "2 h 1 min")])
def test_times_of_a_course(seconds, told):
    assert course.clock(seconds) == told


def test_a_line_of_a_moment_in_words():
    said = lambda first, then: course._line_words(course.Seen("a", "L1", first, then, "within limits"), again=False)
    assert said(None, None) == "L1 floating" and said(230.0, None) == said(230.0, 230.9) == "L1 230 V, within limits"
    assert said(230.0, 231.1) == "L1 230 V rising to 231 V, within limits" and said(230.0, 228.9) == "L1 230 V falling to 229 V, within limits"


# What repeats

def turns(*whats):
    """A course in which each of `whats` ("X" is an event) happens, a second after the other."""
    moments = [moment(float(t), "switch" if what == "X" else "mode", what) for t, what in enumerate(("start", *whats))]
    moments[0] = moment(0.0, "start", "start")
    return SimpleNamespace(times=np.arange(0.0, len(moments) + 0.5, 0.5), moments=(*moments, moment(float(len(moments)), "end", "end")))


def course_of(made, nodes=None):
    return Course(made.times, nodes or {}, {}, {}, {}, {}, {}, made.moments, "time", {})


def test_what_repeats_is_looked_for_once(monkeypatch):
    looked = []
    monkeypatch.setattr(record, "repetitions", lambda moments: looked.append(1) or repetitions(moments))
    made = course_of(turns(*"ababab"))
    assert made.repetition is made.repetitions[0][0] and made.repetition.turns == 3 and looked == [1]


@pytest.mark.parametrize(("whats", "found"), [
    ("ababab", (1, 2, 2.0, 3)), ("ababa", None), ("abcababab", (4, 2, 2.0, 3)), ("ababX", None), ("babXababa", None), ("babXababab", (5, 2, 2.0, 3)),
    ("xyabcabcabcab", (3, 3, 3.0, 3)), ("abababcabababcabababc", (1, 7, 7.0, 3)), ("abcdefgh", None), ("", None)])
def test_what_repeats_until_a_course_ends(whats, found):
    # by hand: three whole turns at least, none of them before an event; of several ways to see it that which begins first
    again = course_of(turns(*whats)).repetition
    assert (again and (again.first, again.size, again.period, again.turns)) == found


def test_of_what_repeats_the_first_turn_is_told_and_the_ends_of_all_others():
    made = turns(*"zabababab")
    volts = np.where(made.times < 4.0, 230.0, np.where(made.times % 2 < 1, 200.0, 260.0))
    nodes = {("intake", x): np.full(len(volts), z) for x, z in handmade.PHASORS.items()} | {("intake", "N"): 230.0 - volts + 0j}
    moments = tuple(replace(m, subject={"a": "Sign", "b": "Freezer"}.get(m.what, "Pump")) for m in made.moments)
    full = Course(made.times, nodes, {}, {}, {}, {}, {}, moments, "time", {})
    found = course.happenings(STAR.case, full)
    assert [h.what for h in found[:4]] == ["start", "z", "a", "b"] and [h.again for h in found] == [False] * 4 + [True, False] and found[-1].what == "end"
    assert found[4].what == "as before, again and again: Sign and Freezer off and on, about every 2 seconds, 4 times in all" and found[4].when == "about 4 s"
    assert found[4].seen[0] == course.Seen("intake", "L1", 200.0, 260.0, "below limits and above limits")
    assert course._line_words(found[4].seen[0], again=True) == "L1 200 to 260 V, below limits and above limits"
    assert _story(full)["repeats"] == {"first": 2, "size": 2, "period": 2.0, "turns": 4} and "repeats" not in _story(turns_once(full))
    assert course_figures._once(full) == 4 and course_figures._with_what_repeats(full, ["off"] * len(volts)) == ["off"] * len(volts)
    words = course_figures._with_what_repeats(full, ["off" if v < 230 else "running" for v in volts])
    assert words[:9] == ["running"] * 8 + ["off"] and set(words[9:]) == {"changing"}


def test_what_repeats_up_to_an_event_is_told_as_what_repeats_to_the_end():
    made = turns(*"abababab", "X", *"cdcdcd")
    full = Course(made.times, {}, {}, {}, {}, {}, {}, tuple(replace(m, subject="Pump") for m in made.moments), "time", {})
    told = [h.what for h in course.happenings(STAR.case, full)]
    assert told == ["start", "a", "b", "as before, again and again: Pump off and on, about every 2 seconds, 4 times in all",
                    "X", "c", "d", "as before, again and again: Pump off and on, about every 2 seconds, 3 times in all", "end"]
    # of the rows of half a second, those from the second turn at 3 s to the event at 9 s, and from 12 s to the end, are drawn as what changes
    drawn = course_figures._with_what_repeats(full, ["off" if t % 2 < 1 else "running" for t in full.times])
    assert {t for t, word in zip(full.times, drawn) if word == "changing"} == {t for t in full.times if 3 < t < 9 or t > 12}
    assert course_figures._once(full) == 3
    late = [replace(m, time=m.time + 50.0) if n > 8 else m for n, m in enumerate(full.moments)]  # X is half a minute after the last turn
    on = "as before, again and again: Pump off and on, about every 2 seconds, followed for {} turns and taken to go on so"
    assert course.happenings(STAR.case, replace(full, moments=tuple(late)))[3].what == on.format(4)
    assert course.happenings(STAR.case, replace(full, ends="cycling"))[-2].what == on.format(3)


def turns_once(full):
    return replace(full, moments=(*full.moments[:4], full.moments[-1]))


def test_points_of_a_moment_with_the_same_are_named_together():
    case = SimpleNamespace(points=[SimpleNamespace(name=x) for x in "abcdefg"])
    seen = lambda **volts: course.Happening(0.0, "", tuple(course.Seen(p, "L1", v, v, "above limits" if v > 300 else "within limits") for p, v in volts.items()))
    assert course.seen_words(case, seen(**dict.fromkeys("abcdefg", 230.0))) == ("L1 230 V, within limits",)
    told = course.seen_words(case, seen(a=230.0, b=230.0, c=231.0, d=232.0, e=233.0, f=301.0, g=302.0))
    # four at most, those off the limits first; in the order of the case
    assert told == ("a, b: L1 230 V, within limits", "c: L1 231 V, within limits", "f: L1 301 V, above limits", "g: L1 302 V, above limits",
                    "… and 2 more points, in the result file")


@pytest.mark.parametrize(("early", "central", "late", "told"), [
    (1.0, 10.0, 100.0, "about 10 s (early course: about 1 s; late course: about 100 s)"), (1.0, 10.0, 101.0, "possibly within about 1 s; an upper end cannot be stated"),
    (1.0, None, None, "not within the period (early course: about 1 s)"), (1.0, 10.0, None, "about 10 s (early course: about 1 s; late course: not within the period)")])
def test_a_failure_in_words(early, central, late, told):
    assert course.failure_words(course.Failure("x", "", central, early, late)) == told.replace("about 100 s", course.rough_time(100.0))


def test_failures_are_told_the_soonest_first():
    named = {"central": SimpleNamespace(failures={"Lamp L2": (9.0, "filament")}),
             "early": SimpleNamespace(failures={"Lamp L2": (3.0, "filament"), "Lamp L1": (2.0, "base")}), "late": SimpleNamespace(failures={})}
    found = course.failures_told(STAR.case, SimpleNamespace(named=named))
    assert found == (course.Failure("Lamp L1", "base", None, 2.0, None), course.Failure("Lamp L2", "filament", 9.0, 3.0, None))


def test_conditions_of_a_load_over_time():
    # the band is 207 to 253 V; at its failure a load without voltage has failed, one with voltage has it still
    volts = {"Lamp L1": np.array([230.0, 300.0, 300.0, nan]), "Lamp L2": np.array([100.0, 230.0, nan, 230.0]), "Lamp L3": np.array([1.0, nan, 230.0, 230.0])}
    made = Course(np.array([0.0, 1.0, 2.0, 3.0]), {}, volts, {}, {}, {}, {}, (), "time", {"Lamp L1": (2.0, "x"), "Lamp L2": (2.0, "x")})
    assert course.conditions(STAR.case, made) == {"Lamp L1": ["running", "too high", "too high", "failed"], "Lamp L2": ["too low", "running", "failed", "failed"],
                                                  "Lamp L3": ["dead", "off", "running", "running"]}


def test_what_follows_a_moment():
    times = np.array([0.0, 1.0, 1.0, 2.0])
    nodes = {("intake", x): np.full(4, z) for x, z in handmade.PHASORS.items()} | {("intake", "N"): np.array([0j, 0j, 229.6 + 0j, 40 + 0j])}
    moments = (moment(0.0, "start", "sound", {("intake", "L1"): 230.0}), moment(1.0, "break", "opens", {("intake", "L1"): 0.4}), moment(2.0, "failure", "x", {}))
    made = Course(times, nodes, {}, {}, {}, {}, {}, moments, "time", {})
    start, opens, end = course.happenings(STAR.case, made)
    assert start.seen[0].later == 230.0 and start.seen[1].later is None and start.when == "0 s"
    assert opens.seen[0].at_once == 0.4 and opens.seen[0].later == pytest.approx(190.0) and end.when == "about 2 s" and end.seen[0].at_once is None
    few = course._seen(STAR.case, ("intake", "L1"), moments[1], 0.4, 230 + 0j), course._seen(STAR.case, ("intake", "L1"), moments[1], 0.6, 1 + 0j)
    assert few[0].verdict.startswith("no voltage") and few[1].verdict.startswith("almost no voltage") and few[0].verdict[11:] != few[1].verdict[18:]


# Ranges

def test_what_is_taken_of_an_unknown():
    case = SimpleNamespace(unknowns=(
        Unknown(load="a", on=0.0), Unknown(load="b", on=1.0), Unknown(load="c", on=0.25, power=Spread(mean=60.0, deviation=5.0)),
        Unknown(one_of=("a", "b"), weights=(1.0, 3.0), none=0.2), Unknown(point="x", electrode=Spread(500.0, 2000.0, scale="log")), Unknown(point="x", phases=("L1", "L2")),
        Unknown(supply_voltage=Spread(220.0, 240.0)), Unknown(point="y", electrode=Spread(5.0, 20.0))))
    assert ranges.unknown_rows(case) == (
        ("a", "off"), ("b", "on"), ("c", "on with a probability of 25 %"), ("power of c", "normally distributed, mean 60 W, standard deviation 5; nothing below 0"),
        ("one of a, b", "only one was on: a 20 %, b 60 %, none of them: 20 %"), ("earth electrode at x", "500 Ω to 2 kΩ, uniform on a logarithmic scale"),
        ("line that x is on", "one of L1, L2, each as likely"), ("voltage of the supply, line to neutral", "220 to 240 V, uniformly distributed"),
        ("earth electrode at y", "5 to 20 Ω, uniformly distributed"))
    assert [ranges.ohms_words(x) for x in (0.0, 999.0, 1000.0, 999_900.0, 1e6)] == ["0 Ω", "999 Ω", "1 kΩ", "999.9 kΩ", "1 MΩ"]


def test_chances_in_words():
    assert [ranges.probability_words(x) for x in (0.0009, 0.001, 0.999, 0.9991)] == ["< 0.1 %", "0.1 %", "99.9 %", "> 99.9 %"]
    chance = lambda share, error: ranges.chance_words(Chance("", share, error))
    assert [chance(0.0, 0.0004), chance(1.0, 0.0004), chance(0.622, 0.001), chance(0.5, 0.00049), chance(0.5, 0.0005), chance(0.5, 0.00001)] == [
        "below 0.04 %", "above 99.96 %", "62.2 % ± 0.1", "50.00 % ± 0.05", "50.0 % ± 0.1", "50.00 % ± 0.01"]
    assert [ranges.range_part_words(x) for x in (0.0049, 0.005, 0.5, 0.995, 0.9951)] == ["below 0.5 %", "0 %", "50 %", "100 %", "above 99.5 %"]


def span(name, line="", high=None, there=1.0, chances=(), outcomes=()):
    return Span(name, line, 200.0, 230.0, high, (), 190.0, 400.0, there, chances, *((outcomes,) if outcomes else ()))


def test_the_spans_that_may_go_highest_are_in_the_tables():
    spans = [span(n, high=h) for n, h in (("a", 230.0), ("b", None), ("c", 300.0), ("d", 300.0), ("e", 250.0))]
    assert [s.name for s in ranges.foremost(spans, 3)] == ["c", "d", "e"] and ranges.foremost(spans) == tuple(spans)
    assert ranges.span_name(span("house", "L1")) == "L1 at house" and ranges.span_name(span("Boiler")) == "Boiler"
    assert ranges.volts_row(spans[0]) == ("190", "200", "230", "230", "400")
    chances = (Chance("too high", 0.5, 0.01), Chance("too low", 0.25, 0.01))
    found = SimpleNamespace(loads=[span("a", high=1.0, there=0.3, chances=chances), span("b", high=1.0, there=1.0, chances=chances), span("c", there=0.0)])
    assert ranges.range_load_rows(found) == (("a", "30 %", "200", "230", "1", "50.0 % ± 1.0", "25.0 % ± 1.0"), ("b", "always", "200", "230", "1", "50.0 % ± 1.0", "25.0 % ± 1.0"),
                                             ("c", "never", *["–"] * 5))


def test_the_highest_voltage_in_a_sentence():
    top = SimpleNamespace(low=200.0, middle=300.0, high=350.0)
    influence = lambda share, known: SimpleNamespace(name="the boiler", share=share, width=150.0, width_known=known)
    told = lambda *influences: ranges.likely_words(SimpleNamespace(highest=top, influences=influences))
    assert "the median is 300 V" in told() and told().endswith("between 200 and 350 V, a range of 150 V.")
    assert told(influence(0.01, 149.0)).endswith("narrow the range most: the boiler, to 149 V on average.")
    assert told(influence(0.0099, 100.0)) == told(influence(0.5, 150.0)) == told()
    assert ranges.likely_words(SimpleNamespace(highest=SimpleNamespace(middle=None))).startswith("In every sample the neutral is floating")
    certain = lambda highest: ranges.guarantee_words(SimpleNamespace(guarantee=SimpleNamespace(highest=highest, reason="Why.")))
    assert certain(None) == "Why." and certain(398.4) == "No line-to-neutral voltage can exceed 398 V. Why."


# The screen, and two files compared

def test_a_table_keeps_within_the_width():
    paint = lambda text, meaning: f"<{text}>" if meaning else text
    table = lines.table_text(("item", "V", "verdict"), [("Lamp", "289", "above limits"), ("Oven", "–", "odd")], "lrl", 80, paint).split("\n")
    assert table == ["item    V  verdict", "----  ---  ------------", "Lamp  289  <above limits>", "Oven    –  odd"]
    assert lines.table_text(("a", "b"), [("x", "–"), ("y", "–")], "ll", 80, paint).split("\n") == ["a", "-", "x", "y"]
    long = "one two three four five six seven"
    cut = lines.table_text((long, "b"), [("x", "y")], "ll", 20, paint).split("\n")
    assert max(map(len, cut)) <= 20 and " ".join(" ".join(line.split()) for line in cut[:3]).startswith("one two three b four five")
    assert lines.width_of("aé\u0301漢") == 4 and lines.painted("x", "danger") == "\x1b[1;31mx\x1b[0m" and lines.painted("x", "odd") == "x"


@pytest.mark.parametrize(("content", "said"), [
    (b"\xff", "f: byte 1 is not UTF-8"), (b"{\n x", "f:2:2: this is not JSON"), (b"[]", "f: the format is null"), (b'{"format": "other"}', 'the format is "other"'),
    (b"[" * 100_000, "nested too deeply")])
def test_what_is_no_result_file(content, said):
    with pytest.raises(UsageError, match=said):
        compare_text.read_result(content, "f")
    assert compare_text.read_result(json.dumps({"format": compare_text.FORMAT}).encode(), "f")


def test_figures_that_are_the_same():
    # 0.5 V, or 0.2 % of the larger; times within 2 %
    assert [compare_text._same(230.0, x) for x in (230.5, 230.51, 229.5, 229.49, None)] == [True, False, True, False, False] and compare_text._same(None, None)
    assert [compare_text._same(1000.0, x) for x in (1002.0, 1002.1)] == [True, False]
    assert [compare_text._same_time(100.0, x) for x in (102.0, 102.1, 98.05, 98.03, None)] == [True, False, True, False, False] and compare_text._same_time(None, None)


def file(**changes):
    """A result file with one state, one item and one danger."""
    phases = [{"name": "L1", "voltage": 300.0, "verdict": "over"}, {"name": "L2", "voltage": None, "verdict": "floating"}]
    state = {"name": "after", "solutions": [{"reached": False, "points": []}, {"reached": True, "points": [{"name": "house", "phases": phases}]}]}
    made = {"case": {"title": "t", "sha256": "a" * 64, "date": None}, "software": {"version": "1"}, "assumptions": ["x"], "states": [state],
            "verdicts": [{"item": "Lamp", "outcome": "unharmed", "voltage": 300.0, "central": None}],
            "findings": [{"rank": "danger", "subject": "house", "message": "Live."}, {"rank": "note", "subject": "house", "message": "Quiet."}]}
    return json.loads(json.dumps(made)) | changes


def test_what_differs_between_two_files_is_told_and_nothing_else():
    said = compare_text.differences
    assert said(file(), file()) == () and said(file(), file(findings=file()["findings"][:1])) == ()
    assert said(file(), file(case={"title": "u", "sha256": "b" * 64, "date": "2024-05-31"})) == (
        "title: t → u", "case file: aaaaaaaaaaaa… → bbbbbbbbbbbb…", "date of the case: none → 2024-05-31")
    assert said(file(), file(software={"version": "2", "numpy": "9"})) == ("program: 1 → 2", "numpy: none → 9")
    assert said(file(), file(assumptions=[])) == ("values assumed: 1 → 0",)
    assert said(file(), file(findings=[])) == ("no longer found (danger): house",) and said(file(findings=[]), file()) == ("newly found (danger): Live.",)
    (gone,) = said(file(), file(verdicts=[]))
    assert gone.startswith("Lamp: 300 V, ") and gone.endswith(" → not in this file")
    (later,) = said(file(), file(verdicts=[{"item": "Lamp", "outcome": "unharmed", "voltage": None, "central": 600.0}]))
    assert later.endswith(", central estimate 10 minutes") and "→ 300" not in later
    (other,) = said(file(), file(states=[{"name": "after", "solutions": [{"reached": False, "points": [{"name": "house", "phases": [
        {"name": "L1", "voltage": 302.0, "verdict": "over"}, {"name": "L2", "voltage": None, "verdict": "floating"}]}]}]}]))  # the first where none is reached
    assert other == "L1 at house after the fault: 300 V (above limits) → 302 V (above limits)"
    missing = said(file(), file(states=[{"name": "after", "solutions": []}]))
    assert missing == ("L1 at house after the fault: 300 V (above limits) → not in this file", "L2 at house after the fault: no defined potential → not in this file")
    with pytest.raises(UsageError, match="incomplete or was changed by hand"):
        said(file(), file(states=None))
    assert compare_text.compare_text(file(), file()) == "Changed: t\n==========\nNothing differs beyond rounding.\n"
