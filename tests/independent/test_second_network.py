"""The result file of every casebook case against its network written and solved a second time. Kind: independent."""

import json
from functools import cache

import mpmath
import pytest
from casebook_results import CASES, result
from daily import daily
from second_network import branches_of, by_loops, by_nodes, phasor

from lostneutral import result_json

METHODS = {"modified nodal analysis": by_nodes, "loop currents": by_loops}

OF_COILS = {"farm-generator", "lost-fuse"}
"""Cases whose source is no voltage behind an impedance: held by other methods in `tests/sources`."""
OTHERS = [name for name in CASES if name not in OF_COILS]


@cache
def written(name):
    made = json.loads(result_json(result(name)))
    return made.get("sine_wave_states", made["states"])


@pytest.mark.parametrize("method", METHODS)
@pytest.mark.parametrize("name", daily(OTHERS, [n for n in OTHERS if n != "row-of-cottages"]))
def test_voltages_and_currents_of_the_result_file(name, method):
    case, compared = result(name).case, 0
    # branches of a load on three lines are taken as equal here: a few mV
    volts = 5e-3 if any(len(load.connect) > 2 for load in case.loads) else 1e-6
    for state in written(name):
        for solution in state["solutions"]:
            with mpmath.workdps(30):
                currents, found = METHODS[method](branches_of(case, solution, state["name"] == "before"))
            compared += hold(case, solution, currents, found, volts)
    assert compared >= 10


def hold(case, solution, currents, found, volts):
    """Assert that every figure of `solution` is the one found; return how many there are."""
    amps, pairs = 0.05 * volts + 1e-7, []
    for point in solution["points"]:
        name = point["name"]
        floats = (name, "N") not in found
        assert (point["neutral"]["voltage"] is None) == floats, name
        if not floats:
            pairs.append((phasor(point["neutral"]), found[name, "N"], volts))
            pairs += [(phasor(line), found[name, line["name"]] - found[name, "N"], volts) for line in point["phases"]
                      if (name, line["name"]) in found and line["voltage"] is not None]
        if point["earth_terminal"] and point["earth_terminal"]["voltage"] is not None:
            pairs.append((phasor(point["earth_terminal"]), found[name, "PE"] - found["earth"], volts))
    for run in solution["runs"]:
        for conductor, current in run["currents"].items():
            if current is not None and current["current"] is not None:
                pairs.append((phasor(current, "current"), currents.get(("run", run["feeding"], conductor), 0j), amps))
    for electrode in solution["earth"]["electrodes"]:
        if electrode["current"] is not None and electrode["point"] != "supply":
            pairs.append((phasor(electrode, "current"), currents.get(("electrode", electrode["point"]), 0j), amps))
    for n, path in enumerate(solution["earth"]["paths"]):
        if path["current"] is not None:
            pairs.append((phasor(path, "current"), currents.get(("path", n), 0j), amps))
    for told, second, allowed in pairs:
        assert abs(told - second) <= allowed + 1e-9 * abs(told), (told, second)
    return len(pairs)


def test_the_comparison_can_fail():
    solution = json.loads(json.dumps(written("three-unequal-lamps")[1]["solutions"][0]))
    case = result("three-unequal-lamps").case
    with mpmath.workdps(30):
        currents, found = by_nodes(branches_of(case, solution, sound=False))
    solution["points"][0]["phases"][0]["voltage"] += 1e-3
    with pytest.raises(AssertionError):
        hold(case, solution, currents, found, 1e-6)
