"""The figures of waveforms: well-formed, the same twice, with words that carry the numbers."""

from math import inf
from xml.etree import ElementTree

import handmade
import pytest
from daily import daily

from lostneutral.case.model import Break, Case, Load, Point
from lostneutral.circuit.waveform.picture import waveforms
from lostneutral.report.waveform import figures as waveform_figures

ALL = (waveform_figures.courses, waveform_figures.spectrum, waveform_figures.links)


def made(loads):
    return Case("office", handmade.supply(), (Point("intake"),), tuple(loads), breaks=(Break("intake", "N", inf),))


@pytest.fixture(scope="module")
def office():
    case = made(Load(f"screens {line}", "electronic", (line, "N"), "intake", 230.0,
                     parameters={"power": 60.0, "front_end": "rectifier"}) for line in ("L1", "L2", "L3"))
    return case, waveforms(case, steps=96)


@pytest.mark.parametrize("draw", daily(ALL), ids=lambda f: f.__name__)
def test_well_formed_with_its_alternative_and_the_same_twice(draw, office):
    svg, alternative = draw(*office)
    assert ElementTree.fromstring(svg).get("aria-label") == alternative and len(alternative) > 40
    assert (svg, alternative) == draw(*office)


@pytest.mark.usefixtures("figures_unwritten")
def test_words_carry_what_the_figures_show(office):
    pictures = office[1]
    links = waveform_figures.links(*office)[1]
    for load in pictures.after.loads:
        assert f"{load.name}: before" in links and f"{load.link[0]:.1f} V" in links
    said = waveform_figures.spectrum(*office)[1]
    assert "order 3" in said.split("Star point")[1]  # the star point moves at three times the frequency
    assert f"crest {pictures.after.phases['intake', 'L1'].crest:.1f} V" in waveform_figures.courses(*office)[1]


@pytest.mark.parametrize("draw", ALL, ids=lambda f: f.__name__)
def test_a_floating_neutral_is_said(draw):
    case = made([Load("heater", "resistive", ("L1", "L2"), "intake", 400.0, parameters={"power": 100.0})])
    svg, alternative = draw(case, waveforms(case, steps=96))
    ElementTree.fromstring(svg)
    assert "float" in alternative or "No rectifier" in alternative
