"""Events, failures and wear in a course. Kinds: invariant and closed form unless a test says otherwise."""

from dataclasses import replace
from math import inf

import numpy as np
import pytest
from course_cases import LINES, at, by_hand, load, star, supply

from lostneutral.case import parse_case
from lostneutral.circuit.incident import follow_course
from lostneutral.circuit.record import Stood, Wear
from lostneutral.circuit.recording import _stood
from lostneutral.errors import CaseError
from lostneutral.studies.course import courses

FIXED = [load("resistive", line, p, name=f"r{line[1]}") for line, p in zip(LINES, (100, 200, 300))]
SOURCES = [supply().phasors[line] for line in LINES]


def siemens(*powers):
    return [p / 230**2 for p in powers]


def constant(rate):
    """Return a law of wear that uses up life at `rate` (1/s) whatever the voltage."""
    return Wear(lambda voltage, model, state: rate, part="resistor")


def test_events_happen_when_and_as_they_are_said():
    events = [at(2.0, ohms=inf), at(5.0, load="r3", on=False), at(7.0, load="r3", on=True), at(9.0, ohms=0.0)]
    course = follow_course(star(FIXED, events, course_end=12.0))
    assert [(m.time, m.kind) for m in course.moments] == [
        (0.0, "start"), (2.0, "break"), (5.0, "switch"), (7.0, "switch"), (9.0, "break"), (12.0, "end")]
    whole, two = by_hand(SOURCES, siemens(100, 200, 300)), by_hand(SOURCES[:2], siemens(100, 200))
    for time, expected in ((1.0, [230.0] * 3), (3.0, whole), (6.0, [*two, np.nan]), (8.0, whole), (11.0, [230.0] * 3)):
        index = np.searchsorted(course.times, time)
        seen = [course.voltages[f"r{k}"][index] for k in (1, 2, 3)]
        assert seen == pytest.approx(expected, rel=1e-9, nan_ok=True)
    assert course.ends == "settled" and course.times[-1] == 12.0


def test_a_joint_that_worsens_shifts_the_star_point_between_sound_and_open():
    """Independent: the joint is one more admittance to the supply's star point in the node-voltage formula."""
    ohms = [0.5, 5.0, 50.0]
    course = follow_course(star(FIXED, [at(float(k), ohms=r) for k, r in enumerate(ohms)], course_end=3.0))
    for k, r in enumerate(ohms):
        y = siemens(100, 200, 300)
        neutral = sum(a * v for a, v in zip(y, SOURCES)) / (sum(y) + 1 / r)
        index = np.searchsorted(course.times, k + 0.5)
        assert course.nodes["intake", "N"][index] == pytest.approx(neutral, rel=1e-9)


def test_a_line_lost_leaves_its_loads_to_the_others():
    event = at(1.0, ohms=inf)
    lost = replace(event, time=2.0, change=replace(event.change, conductor="L1"))
    course = follow_course(star(FIXED, [event, lost], course_end=3.0))
    half = by_hand(SOURCES[1:], siemens(200, 300))
    assert [course.voltages[f"r{k}"][-1] for k in (1, 2, 3)] == pytest.approx([0.0, *half], abs=1e-6)


def test_a_load_that_wears_out_opens_and_moves_the_star_point_for_the_others():
    course = follow_course(star(FIXED), {"r3": constant(0.1)}, end=30.0)
    assert course.failures["r3"] == (pytest.approx(10.0, rel=1e-6), "resistor")
    assert course.used["r3"][-1] == pytest.approx(1.0, abs=1e-6)
    middle, last = np.searchsorted(course.times, 5.0), -1
    assert course.used["r3"][middle] == pytest.approx(0.1 * course.times[middle], rel=1e-6)
    for index, expected in ((middle, by_hand(SOURCES, siemens(100, 200, 300))),
                            (last, [*by_hand(SOURCES[:2], siemens(100, 200)), np.nan])):
        assert [course.voltages[f"r{k}"][index] for k in (1, 2, 3)] == pytest.approx(expected, rel=1e-9, nan_ok=True)


def test_failures_follow_one_another_in_the_order_that_their_rates_give():
    """Closed form: rates as the fourth power of the voltage, piecewise constant between failures."""
    law = Wear(lambda voltage, model, state: 1e-3 * (voltage / 230.0) ** 4)
    course = follow_course(star(FIXED), {f"r{k}": law for k in (1, 2, 3)}, end=1e5)
    powers, used, time, expected = {1: 100, 2: 200, 3: 300}, dict.fromkeys((1, 2, 3), 0.0), 0.0, {}
    while len(powers) > 1:
        across = by_hand([SOURCES[k - 1] for k in powers], siemens(*powers.values()))
        rate = {k: 1e-3 * (v / 230.0) ** 4 for k, v in zip(powers, across)}
        step, first = min(((1 - used[k]) / rate[k], k) for k in powers)
        time += step
        used = {k: used[k] + step * rate[k] for k in powers}
        expected[f"r{first}"] = time
        del powers[first]
    assert {name: t for name, (t, _) in course.failures.items()} == pytest.approx(expected, rel=1e-5)
    assert list(course.failures) == list(expected)


def test_a_load_that_fails_short_pulls_the_star_point_until_its_feed_opens():
    wear = Wear(lambda voltage, model, state: 0.1, ends="short", short_resistance=0.5, opens_above=1e9)
    held = follow_course(star(FIXED), {"r1": wear}, end=20.0)
    y = [2.0, *siemens(200, 300)]
    assert held.voltages["r1"][-1] == pytest.approx(by_hand(SOURCES, y)[0], rel=1e-6)
    opened = follow_course(star(FIXED), {"r1": replace(wear, opens_above=1.0)}, end=20.0)
    assert np.isnan(opened.voltages["r1"][-1]) and "what feeds it would open" in opened.moments[-2].what


def test_the_early_course_is_never_behind_the_late_one():
    """Invariant of the laws' bands: early, central, late."""
    lamps = [load("lamp", "L1", 25), load("lamp", "L1", 40, name="other"), load("heater", "L2", 1500)]
    found = courses(star(lamps), end=6 * 3600.0)
    first = {name: min((t for t, _ in c.failures.values()), default=inf) for name, c in found.named.items()}
    assert first["early"] < first["central"] <= first["late"]
    assert first["early"] < inf


def test_pace_scales_the_time_to_the_first_failure():
    times = [follow_course(star(FIXED), {"r3": constant(0.1)}, end=60.0, pace=p).failures["r3"][0] for p in (0.5, 1.0, 2.0)]
    assert times == pytest.approx([20.0, 10.0, 5.0], rel=1e-6)


def test_without_wear_and_without_breaks_nothing_happens():
    course = follow_course(star(FIXED, breaks=()), end=5.0)
    assert [course.voltages[f"r{k}"][-1] for k in (1, 2, 3)] == pytest.approx([230.0] * 3)


BAD = {
    "event before time 0": ('time = -1\nload = "a"\non = true', "-1 is too small"),
    "load that is not there": ('time = 1\nload = "b"\non = true', 'there is no load "b"'),
    "run that is not there": ('time = 1\nbreak = "shed"', 'there is no point "shed"'),
    "mending what is whole": ('time = 1\nbreak = "intake"\nresistance = 0', "which is intact at 1 s"),
    "two breaks at one instant": ('time = 1\nbreak = "intake"\n[[event]]\ntime = 1\nbreak = "intake"\nresistance = 2',
                                  "a second change of N"),
    "after the end": ('time = 9\nbreak = "intake"\n[course]\nend = 5', "after the end of the simulation at 5 s"),
}


@pytest.mark.parametrize("name", BAD)
def test_a_bad_course_is_refused_in_clear_words(name):
    event, said = BAD[name]
    text = ('title = "t"\n[supply]\n[[load]]\nname = "a"\nkind = "lamp"\nconnect = "L1-N"\npower = 60\n[[event]]\n' + event)
    with pytest.raises(CaseError, match=said):
        parse_case(text + "\n")


def switching(*events, end=1000.0):
    """A pump on L1 that pulls its own line down, shuts down, restarts half a second later, and so on; what else is there is fixed."""
    pump = load("electronic", "L1", 1000, name="pump", front_end="corrected", cuts_out_below=150.0, restarts_from=170.0, restart_delay=0.5, drop_out_delay=0.5)
    fixed = [load("resistive", line, 500, name=f"r{line[1]}") for line in ("L2", "L3")]
    return star([pump, *fixed], [at(0.0, ohms=inf), *events], course_end=end)


def test_what_happens_to_loads_that_keep_switching_is_not_lost():
    """A restored neutral ends what goes on for longer than is followed turn by turn; life is used up meanwhile as before."""
    course = follow_course(switching(at(900.0, ohms=0.0)), {"r2": Wear(lambda volts, model, state: 1e-3 * (volts > 200), part="resistor")})
    assert [(m.time, m.kind) for m in course.moments[-2:]] == [(900.0, "break"), (1000.0, "end")] and course.ends == "settled"
    assert [course.voltages[f"r{k}"][-1] for k in (2, 3)] == pytest.approx([230.0, 230.0], abs=1e-6)
    last = np.flatnonzero(course.times < 900.0)[-1]
    assert course.times[last] < 200.0  # 300 changes of about half a second each
    used, mended = course.used["r2"][last], course.used["r2"][last + 1]
    assert mended == pytest.approx(used * 900.0 / course.times[last], rel=1e-6) and 0 < used < mended < 1
    assert [(p.start, p.end) for p in course.parts] == [(0.0, 0.0), (0.0, 900.0), (900.0, 1000.0)]
    assert follow_course(switching()).ends == "cycling"


def test_a_load_fails_while_others_keep_switching():
    course = follow_course(switching(at(900.0, ohms=0.0)), {"r2": constant(1 / 500)})
    assert course.failures["r2"][0] == pytest.approx(500.0, rel=1e-6) and course.moments[-2].time == 900.0


def test_of_loads_that_keep_switching_each_line_is_told_by_its_own_ends():
    """With the pump off, by hand, the two of 500 W are in series between their lines, and L1 is where nothing holds it."""
    off = by_hand(SOURCES, [1e-12, 500, 500])
    part = follow_course(switching(at(900.0, ohms=0.0))).parts[1]
    volts = np.abs([[m.voltage("intake", line) for line in LINES] for m in part.moments])
    assert volts.max(axis=0)[0] == pytest.approx(off[0], rel=1e-3) and volts.min(axis=0)[1:] == pytest.approx(off[1:], rel=1e-3)
    assert volts.min(axis=0)[0] < 150 and volts.max(axis=0)[1] > 300  # while the pump pulls L1 down


def test_a_voltage_that_comes_and_goes_has_its_time_in_all():
    """The pump restarts after 6 s and shuts down after 1 s, three times before the neutral is restored: by hand its line is high for 18 s in all."""
    pump = replace(switching().loads[0], parameters=switching().loads[0].parameters | {"drop_out_delay": 1.0, "restart_delay": 6.0})
    part = follow_course(star([pump, *switching().loads[1:]], [at(0.0, ohms=inf), at(21.5, ohms=0.0)], course_end=30.0)).parts[1]
    so = next(so for so, m in zip(part.stood, part.moments[1:]) if abs(m.voltage("intake", "L1")) > 300)
    assert so.end - so.start == pytest.approx(6.0, abs=0.01) and sum(b - a for a, b in so.ever) == pytest.approx(18.0, abs=0.1) and len(so.ever) == 3


def test_what_was_not_followed_to_the_end_goes_on_as_what_was():
    # by hand: high from 1 to 3 s and from 7 to 8 s of the 10 s that were followed of 100
    times, so = np.arange(11.0), np.isin(np.arange(11), (1, 2, 7))
    assert _stood(times, so, 2, 0.0, 100.0) == Stood(1.0, 3.0, ((10.0, 30.0), (70.0, 80.0)))
    assert _stood(times, so, 7, 0.0, 10.0) == Stood(7.0, 8.0, ((1.0, 3.0), (7.0, 8.0)))
    assert _stood(times, times > 4, 9, 0.0, 10.0) is None
