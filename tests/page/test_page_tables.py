"""What the page's curves cost against the laws they stand for, and that its outcomes are those of the harms."""

import numpy as np
import pytest
from casebook_results import result as casebook
from daily import daily
from page_cases import CASEBOOK, LAMPS, star

from lostneutral import read_case
from lostneutral.circuit.states import before_and_after
from lostneutral.consequences.harm import harm_at
from lostneutral.consequences.limits import band
from lostneutral.consequences.wear import laws_of, wears
from lostneutral.loads import load_model
from lostneutral.page import laws
from lostneutral.page.content import content
from lostneutral.page.curves import hermite, packed, read
from lostneutral.page.outcomes import outcomes_of, voltage_stretches
from lostneutral.result import Result

NAMES = ("hotel-kitchen", "joinery", "office-floor", "bakery", "leaves-the-triangle")
LOADS = [pytest.param(load, read_case(CASEBOOK / f"{name}.toml").supply, id=f"{name}: {load.name}")
         for name in NAMES for load in read_case(CASEBOOK / f"{name}.toml").loads]
MODES = [pytest.param(load, supply, mode, id=f"{name} {mode}") for (load, supply), name in ((p.values, p.id) for p in LOADS)
         for mode in load_model(load, supply)[0].modes]


CURVES = {}  #: worked out once for the tests that ask for them


def curves_of(load, supply, mode):
    """Return (model, highest V, curve over the voltage, over the state or None) of a load of `LOADS`."""
    if (id(load), mode) not in CURVES:
        CURVES[id(load), mode] = _curves_of(load, supply, mode)
    return CURVES[id(load), mode]


def _curves_of(load, supply, mode):
    model = load_model(load, supply)[0].in_mode(mode)
    top = laws.REACH * max(supply.nominal, load.voltage)
    found = laws_of(load, model)
    state = laws.state_curve(load, model, found, top) if laws.moves(model, load.voltage) else None
    return model, top, laws.volts_curve(load, model, found, top), state


@pytest.mark.parametrize(("load", "supply", "mode"), MODES)
def test_settled_current_over_the_voltage(load, supply, mode):  # independent: the law at places that no curve was fitted to
    model, top, volts, _ = curves_of(load, supply, mode)
    v = np.random.default_rng(1).uniform(1.0, top, 4000)
    y = model.response(v)[0]
    seen = read(volts, v)
    off = np.abs(seen[:, 0] + 1j * seen[:, 1] - y) * v
    rated = abs(model.response(np.array([load.voltage]))[0][0]) * load.voltage
    # Where a supply shuts down within a volt or two the ramp's own slope counts: a hundredth of a volt of it.
    assert (off < np.maximum(2e-4 * max(rated, 1e-6), 2e-3 * np.abs(y) * v)).mean() > 0.995
    assert (off <= 0.02 * np.maximum(rated, np.abs(y) * v)).all()


@pytest.mark.parametrize(("load", "supply", "mode"), MODES)
def test_the_pace_of_a_state_is_that_of_its_model(load, supply, mode):  # independent; two terms are exact for all models
    model, top, volts, state = curves_of(load, supply, mode)
    if state is None:
        return
    draw = np.random.default_rng(2)
    v, x = draw.uniform(1.0, 0.6 * top, 2000), draw.uniform(state[0][0], state[0][-1], 2000)
    true = np.asarray(model.rate(x, v), float)
    f, g = read(state, x)[:, 2:4], read(volts, v)[:, 3:5]
    parts = np.abs(f * g).sum(axis=1)
    assert np.abs((f * g).sum(axis=1) - true).max() <= 2e-3 * max(parts.max(), np.abs(true).max())
    y = model.admittance(x) + 0j * x
    assert np.abs(read(state, x)[:, 0] + 1j * read(state, x)[:, 1] - y).max() <= 1e-3 * np.abs(y).max()


@pytest.mark.parametrize(("load", "supply"), LOADS)
def test_life_is_used_as_the_course_in_time_has_it(load, supply):  # independent: settled, against `wears`
    from lostneutral.case.model import Case

    found = wears(Case("", supply, (), (load,)))
    if load.name not in found:
        return
    model, top, volts, state = curves_of(load, supply, load_model(load, supply)[0].modes[0])
    v = np.random.default_rng(3).uniform(1.05 * load.voltage, 0.6 * top, 300)
    x = model.settled(v) + 0 * v
    true = np.log(np.maximum(found[load.name].rate(v, model, x), np.exp(laws.NO_WEAR)))
    page = read(volts, v)[:, 5] if state is None else np.maximum(read(volts, v)[:, 5], read(state, x)[:, 4])
    assert (np.abs(page - true) < 0.1).mean() > 0.97  # a tenth of the time; at a law's corners it is a ramp
    assert np.abs(page - true)[v < 1.8 * load.voltage].mean() < 0.05


@pytest.mark.parametrize(("load", "supply"), LOADS)
def test_an_outcome_is_that_of_the_harms_at_its_voltage(load, supply):  # independent: asked at other voltages
    model, limits = load_model(load, supply)[0], band(supply.limits)
    stretches = voltage_stretches(load, model, limits, 3 * supply.nominal)
    away = 0
    for v in np.random.default_rng(4).uniform(0, 3 * supply.nominal, 25):
        stretch = next(s for s in stretches if v <= s["to"] + 0.02)
        if min(abs(v - s["to"]) for s in stretches) > 0.05:
            assert stretch["outcome"] == harm_at(load, model, float(v), limits)[0].outcome
            away += 1
    assert away > 20  # hardly any lies at an edge


@pytest.mark.parametrize("name", ["marina", "split-phase-house", "three-unequal-lamps"])
def test_items_of_the_case_as_given_have_one_outcome(name):
    """Invariant: the verdict on an item over the incident is what its voltage's table says on the page, unless the time
    in which it fails was counted through the incident, or it suffered more at another stage."""
    result = casebook(name)
    case, limits, said, held = result.case, band(result.case.supply.limits), outcomes_of(result), 0
    for load, verdict in zip(case.loads, result.verdicts):
        assert said[load.name] == verdict.outcome
        if not load.on or verdict.volts is None or verdict.fails or verdict.worst:
            continue
        model = load_model(load, case.supply)[0]
        stretches = voltage_stretches(load, model, limits, 3 * max(case.supply.nominal, load.voltage))
        assert said[load.name] == next(s for s in stretches if verdict.volts <= s["to"] + 0.02)["outcome"]
        held += 1
    assert held


def test_a_curve_keeps_to_its_error():  # independent: closed forms
    for law in (np.sin, np.exp, lambda x: np.abs(x - 1.234)):
        curve = hermite(lambda x, law=law: law(x)[:, None], 0.0, 3.0, np.array([1e-4]), 1e-5)
        x = np.linspace(0, 3, 5001)
        assert np.abs(read(curve, x)[:, 0] - law(x)).max() < 3e-4
        assert len(packed(curve)[0]) == len(curve[0]) < 120


def test_what_ends_the_modes_of_a_motor():  # practice: it stalls below 0.6, runs again from 0.85, trips by heat
    load = star("motor", 120.0).loads[0]
    model = load_model(load, LAMPS.supply)[0]
    running, stalled, tripped = (laws.exits(model.in_mode(mode), 690.0) for mode in model.modes)
    assert [(e["volts"][0], round(e["volts"][1]), e["to"]) for e in running] == [("below", 138, "stalled")]
    assert {e["to"] for e in stalled} == {"running", "tripped"} and [e["to"] for e in tripped] == ["stalled"]


@pytest.mark.parametrize("name", daily(["hay-barn", "lost-fuse", "wrong-room"], ["wrong-room"]))
def test_points_and_loads_have_one_numbering_of_terminals(name):
    # invariant: a load stands between the terminals of its point, whichever conductor is broken
    case = read_case(CASEBOOK / f"{name}.toml")
    held = content(Result(case, *before_and_after(case)))
    at = {point["name"]: point for point in held["points"]}
    compared = 0
    for a, b, number in held["wiring"]["branches"]:
        line, *_, end = held["loads"][number]["connect"]
        if end == "N":
            point = at[held["loads"][number]["point"]]
            assert [a, b] == [point["lines"][line], point["n"]]
            compared += 1
    assert compared
