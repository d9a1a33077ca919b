"""From a load of the case to its model, with every assumption written down."""

import numpy as np
import pytest

from lostneutral.case.model import Load, Supply
from lostneutral.data import KNOWN
from lostneutral.errors import CaseError
from lostneutral.loads import BUILDERS, load_model

SUPPLY = Supply({"L1": 230 + 0j, "L2": -115 - 199j, "L3": -115 + 199j})
FULL = {
    "resistive": {"power": 100.0},
    "impedance": {"resistance": 3.0, "reactance": 4.0},
    "exponential": {
        "power": 100.0,
        "reactive_power": 30.0,
        "power_exponent": 1.2,
        "reactive_exponent": 2.0,
        "valid_from": 0.8,
        "valid_to": 1.2,
    },
    "lamp": {"power": 60.0, "technology": "halogen", "colour_temperature": 2900.0},
    "heater": {"power": 1000.0, "alloy": "FeCrAl 25-5", "element_temperature": 600.0, "cooling": "radiant"},
}
LEAST = {"impedance": {"resistance": 3.0}, **{k: {"power": 100.0} for k in FULL if k != "impedance"}}


def make(kind, parameters, connect=("L1", "N"), voltage=230.0):
    return load_model(Load("Hall", kind, connect, "intake", voltage, parameters=parameters), SUPPLY)


@pytest.mark.parametrize("kind", FULL)
def test_every_assumption_has_value_and_source(kind):
    # invariant: each carries the words of how it is known
    for parameters in (LEAST[kind], FULL[kind]):
        for assumption in make(kind, parameters)[1]:
            assert assumption.subject == "load 'Hall'"
            assert assumption.what and assumption.value
            assert any(assumption.why.endswith(f"({words})") for words in KNOWN.values())


@pytest.mark.parametrize("kind", FULL)
def test_what_is_given_is_not_assumed(kind):
    # invariant
    assumed = {a.what.replace(" ", "_") for a in make(kind, FULL[kind])[1]}
    assert not assumed & set(FULL[kind])
    left_out = {a.what.replace(" ", "_") for a in make(kind, LEAST[kind])[1]} - assumed
    expected = set(FULL[kind]) - set(LEAST[kind])
    if kind == "exponential":
        expected -= {"reactive_exponent"}  # without reactive power it means nothing
    assert left_out - {"resistance_over_temperature", "convection"} == expected


@pytest.mark.parametrize("kind", [k for k in FULL if k != "impedance"])
def test_three_phase_power_is_shared_by_three_branches(kind):
    # invariant: rated line to line, a branch takes a third at that voltage
    model, _ = make(kind, {**FULL[kind], "power": 900.0}, ("L1", "L2", "L3"), 400.0)
    assert 400.0**2 * model.admittance(model.settled(400.0)).real == pytest.approx(300.0, rel=1e-10)


def test_impedance_of_a_delta_is_that_of_a_branch():
    # invariant
    model, _ = make("impedance", FULL["impedance"], ("L1", "L2", "L3"), 400.0)
    assert model.admittance(model.settled(400.0)) == pytest.approx(1 / (3 + 4j))


def test_lamp_says_what_the_sources_leave_open():
    # invariant: the spread in the assumption is that of the model's two ends
    model, assumptions = make("lamp", {"power": 60.0})
    share = next(a for a in assumptions if a.what.startswith("share"))
    low, high = model.spread(1.3 * 230)["light"]
    assert f"{low:.2f} to {high:.2f} times rated at 1.3 times rated voltage" in share.why
    assert "√3 times rated voltage" in share.why


def test_array_of_powers():
    # invariant: one model for many powers, each with its own default colour temperature
    powers = np.array([40.0, 100.0])
    model, assumptions = make("lamp", {"power": powers})
    for i, power in enumerate(powers):
        alone, _ = make("lamp", {"power": power})
        assert model.settled(300.0)[i] == pytest.approx(alone.settled(300.0), rel=1e-12)
    assert any(a.value == "2710 to 2790 K" for a in assumptions)


@pytest.mark.parametrize(
    ("kind", "change", "words"),
    [
        ("heater", {"alloy": "tin"}, ['"tin"', '"NiCr 80/20"']),
        ("heater", {"cooling": "water", "element_temperature": 90.0}, ["90 °C", "above the 100 °C"]),
        ("heater", {"element_temperature": 15.0}, ["15 °C", "above the 20 °C"]),
        ("heater", {"element_temperature": 2000.0}, ["2000 °C", "below its melting"]),
        ("lamp", {"colour_temperature": 9000.0}, ["9000 K", "1800 to 3500 K"]),
    ],
)
def test_what_a_model_cannot_take_is_refused(kind, change, words):
    # invariant: what, where, the value and what is allowed
    with pytest.raises(CaseError) as caught:
        make(kind, {**LEAST[kind], **change})
    message = str(caught.value)
    assert "load 'Hall'" in message
    for word in (*words, *[k for k in change if k != "cooling"]):
        assert word in message


def test_builders_cover_the_kinds_tested_here():
    # invariant: a new kind needs a row here
    assert set(FULL) <= set(BUILDERS)
