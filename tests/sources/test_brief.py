"""Stages shorter than two cycles, as instantaneous values."""

from dataclasses import replace

import numpy as np
import pytest

from lostneutral.case import parse_case
from lostneutral.case.model import Break
from lostneutral.circuit.waveform.brief import crests

CASE = """
title = "t"
[supply]
[[point]]
name = "house"
[[generator]]
name = "set"
line_impedance = [0.01, 0]
[[changeover]]
point = "house"
[[load]]
name = "Heater"
kind = "resistive"
connect = "L1-N"
power = 3000
[[load]]
name = "Screen"
kind = "electronic"
front_end = "rectifier"
connect = "L3-N"
power = 50
{more}
"""


def stage(seconds, more=""):
    case = parse_case(CASE.format(more=more))
    moved = replace(case.sound(), changeovers=(replace(case.changeovers[0], position="generator", open=("N",)),))
    return crests(replace(case.sound(), breaks=()), moved, seconds)


def test_a_link_is_filled_to_the_line_to_line_crest_within_a_cycle():
    """Independent: the heater (17.6 ohm) holds the star point at L1, so that the bridge on L3 sees the line-to-line voltage."""
    found = stage(0.02)
    crest = np.sqrt(2) * 230 * np.sqrt(3)  # less what the pulse drops in the heater, the inlet and the bridge: never more
    assert 0.96 * crest < found.links["Screen"] <= crest
    assert found.lines["house", "L1"] < 0.6 * np.sqrt(2) * 230  # no more than the pulse of charge through the heater
    assert found.still == ()


def test_a_shorter_stage_never_reaches_more():
    """Invariant: what can happen in 2 ms can happen in 20 ms."""
    short, long = stage(0.002), stage(0.02)
    for key in long.lines:
        assert short.lines[key] <= long.lines[key] * 1.01
    assert short.links["Screen"] <= long.links["Screen"] * 1.01


def test_lamps_do_not_follow():
    lamp = '[[load]]\nname = "Lamp"\nkind = "lamp"\nconnect = "L2-N"\npower = 60\n'
    found = stage(0.02, lamp)
    assert found.still == ("Lamp",)
    # Independent: at its hot resistance it divides the line-to-line voltage with the heater.
    hot = 230**2 / 60
    assert found.lines["house", "L2"] == pytest.approx(np.sqrt(2) * 230 * np.sqrt(3) * hot / (hot + 230**2 / 3000), rel=0.03)


def test_the_highest_of_a_stage_of_whole_steps_is_that_of_its_last():
    """Closed form: begun at every 30 degrees, a stage of 7 steps of 3.75 degrees ends 3.75 degrees short of the next crest; its first step is left out."""
    case = parse_case('title = "t"\n[supply]\n' + "".join(
        f'[[load]]\nname = "h{k}"\nkind = "resistive"\nconnect = "L{k}-N"\npower = 1000\n' for k in (1, 2, 3)))
    sound = replace(case, breaks=())
    crest = np.sqrt(2) * 230
    for count, short in ((7, 3.75), (8, 0.0), (1, 15 * (4 - np.sqrt(6)) / 40 + 3.75)):  # of less than two steps the second is the last
        found = crests(sound, replace(case, breaks=(Break("intake", "N"),)), count * 0.02 / 96, steps=96)
        assert found.lines["intake", "L1"] == pytest.approx(crest * np.cos(np.radians(short)), rel=1e-6) and not found.links
    alone = replace(case, loads=(case.loads[0], case.loads[2]))  # nothing but its own conductor holds L2
    lost = crests(replace(alone, breaks=()), replace(alone, breaks=(Break("intake", "L2"),)), 0.001, steps=96)
    assert set(lost.lines) == {("intake", "L1"), ("intake", "L3")}
