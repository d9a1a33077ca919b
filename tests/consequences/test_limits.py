"""Verdicts, limits as printed, conductor colours and cautions."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lostneutral.consequences.limits import band, band_names, cite, published, verdict
from lostneutral.data import KNOWN, load
from lostneutral.errors import UsageError

SEVERITY = {"within": 0, "under": 1, "dead": 1, "over": 2}


@pytest.mark.parametrize(("volts", "expected"), [  # published, secondary: EN 50160, ±10 % of 230 V; "dead" below 5 % is chosen
    (0.0, "dead"), (11.4, "dead"), (11.5, "under"), (195.5, "under"), (206.9, "under"), (207.0, "within"),
    (207.0 * (1 - 1e-12), "within"), (230.0, "within"),
    (253.0, "within"), (253.0 * (1 + 1e-12), "within"), (253.1, "over"), (398.4, "over")])
def test_verdict_at_the_edges(volts, expected):
    assert verdict(volts / 230.0, band("EN 50160")) == expected


def test_a_voltage_that_nothing_ties_down_is_floating():
    assert verdict(None, band("EN 50160")) == "floating"


@given(st.sampled_from(band_names()), st.floats(1, 5), st.floats(0, 5))
@settings(max_examples=80, derandomize=True, deadline=None)
def test_further_above_is_never_less_severe(name, ratio, more):  # invariant
    assert SEVERITY[verdict(ratio + more, band(name))] >= SEVERITY[verdict(ratio, band(name))]


@given(st.sampled_from(band_names()), st.floats(0, 1), st.floats(0, 1))
@settings(max_examples=80, derandomize=True, deadline=None)
def test_further_below_is_never_less_severe(name, ratio, part):  # invariant
    assert SEVERITY[verdict(ratio * part, band(name))] >= SEVERITY[verdict(ratio, band(name))]


def test_the_band_stretches_to_another_nominal():  # arithmetic: United Kingdom +10 % of 240 V
    limit = band("United Kingdom").yardstick("high", 240.0)
    assert (limit.value, limit.unit, limit.edge) == (264.0, "V", "high")


def test_memory_is_marked_in_the_limit():
    assert band("BS 7671").yardstick("low", 230.0).known == KNOWN["M"]
    assert published(load("stress")["temporary_overvoltage"]).known == KNOWN["M"]


def test_a_clause_known_from_memory_is_marked_beside_a_figure_that_is_not():
    entry = load("supply_bands")["band"][0]
    assert cite(entry) == ("EN 50160, clause 4.2.2 (edition 2010; 2022 current; clause number not checked against the source "
                           "for this report)")


def test_an_unknown_band_names_those_there_are():
    with pytest.raises(UsageError, match="'EN 50161' is not known — one of: EN 50160, IEC 60038"):
        band("EN 50161")
