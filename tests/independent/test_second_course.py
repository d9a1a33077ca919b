"""The course in the result file of casebook cases against steps of one length on a second network. Kind: independent."""

import json
from functools import cache
from math import isinf

import numpy as np
import pytest
from casebook_results import FOLDER
from daily import daily
from second_course import METHODS, Course

from lostneutral import follow, read_case, result_json
from lostneutral.circuit.incident import cooled
from lostneutral.loads import load_model

WINDOWS = {  # case: s, the end of what is held against the course in the file
    "wrong-room": 10.4,  # the neutral goes at 0, the kettle comes on at 10 s
    "intermittent-joint": 6.0,  # 3 ohm at 5 s
    "lamps-one-by-one": 2.0,  # the neutral goes at 1 s
}
STEP = {"Runge-Kutta, order 4": (0.02, 2e-5), "Heun, order 2": (0.01, 2e-4)}  #: s, and the share of the voltage that it is good for


@cache
def written(name):
    case = read_case(FOLDER / f"{name}.toml")
    return case, json.loads(result_json(follow(case, end=WINDOWS[name] + 0.5)))["course"]


@pytest.mark.parametrize("method", daily(METHODS))
@pytest.mark.parametrize("name", daily(WINDOWS, ("wrong-room",)))
def test_voltages_over_time(name, method):
    case, told = written(name)
    step, share = STEP[method]
    course, compared, moved = Course(case, method, step), 0, 0.0
    at_events = {e.time for e in case.events}
    times = np.array(told["times"])
    last = 0.0
    for n, time in enumerate(times):
        if time > WINDOWS[name] or time - last < 0.05 or any(0 <= time - at < 0.002 for at in at_events):
            continue  # at an event the file has the voltages of both sides, and what is cold warms by a kelvin in a microsecond
        last = time
        course.until(float(time))
        for load in told["loads"]:
            found = course.volts().get(load["name"])
            seen = load["voltage"][n]
            if found is None or seen is None:
                continue
            assert abs(found - seen) <= share * seen + 1e-6, (load["name"], time, found, seen)
            compared, moved = compared + 1, max(moved, abs(seen - 230.0))
    assert compared > 20 and moved > 5.0


@pytest.mark.thorough
def test_times_of_failure_by_the_published_exponent_at_settled_voltages():
    """Lamps one by one: V⁻¹⁴ on 1000 h (halogen 2000 h), voltages settled on the second network, each failure by hand."""
    case = read_case(FOLDER / "lamps-one-by-one.toml")
    told = json.loads(result_json(follow(case)))["course"]["failures"]
    assert len(told) == 4
    course = Course(case, "Runge-Kutta, order 4", 0.02)
    course.until(1.0)
    used, time, found = dict.fromkeys((load.name for load in case.loads if load.kind == "lamp"), 0.0), 1.0, []
    rated = {load.name: (load.voltage, 2000.0 if load.parameters.get("technology") == "halogen" else 1000.0) for load in case.loads}
    while len(found) < 4:
        for _ in range(40):
            for n, v in zip(course.star.on, course._volts(course.state)):
                course.state[n] = float(course.models[n].settled(v))
        volts = course.volts()
        rates = {name: (volts[name] / rated[name][0]) ** 14 / (3600 * rated[name][1]) for name in used}
        step, first = min(((1 - used[name]) / rate, name) for name, rate in rates.items())
        used = {name: used[name] + step * rates[name] for name in used if name != first}
        time += step
        found.append((first, time))
        course.switched[first] = False
        course.star = type(course.star)(case, course.ohms, course.switched)
    assert [name for name, _ in found] == [f["load"] for f in told]
    for (_, second), failure in zip(found, told):
        assert not isinf(second) and failure["time"] == pytest.approx(second, rel=0.01)


def test_what_was_switched_off_has_cooled_when_it_comes_on_again():
    lamp = load_model(read_case(FOLDER / "wrong-room.toml").loads[0], read_case(FOLDER / "wrong-room.toml").supply)[0]
    state = hot = float(lamp.settled(230.0))
    for _ in range(4000):
        state = METHODS["Runge-Kutta, order 4"](lambda x: float(lamp.rate(x, 0.0)), state, 5e-4)
    assert cooled(lamp, hot, 2.0) == pytest.approx(state, rel=1e-5) and state < 0.2 * hot
