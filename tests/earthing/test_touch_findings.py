"""Claims on touch voltages and diverted current, the section they stand in, and their figures."""

import re
from dataclasses import replace

import numpy as np
import pytest
from earth_cases import sharing_a_pipe, single, street, supply

from lostneutral import analyse
from lostneutral.case.model import Break, Case, Load, Point
from lostneutral.claims.model import Kind, Rank
from lostneutral.data import KNOWN
from lostneutral.report.earth import figures as earth_figures
from lostneutral.report.earth.section import earth
from lostneutral.studies.electrode_range import touch_range


def claims(case, *kinds):
    return [c for c in analyse(case).claims if c.kind in kinds]


def test_a_person_is_in_danger_and_nothing_is_called_safe():
    result = analyse(single(own=20.0, source=2.0, ohms=23.0))
    # closed form: 230 V · 20 / 45 = 102.2 V to earth
    (person,) = [c for c in result.claims if c.kind is Kind.PERSON]
    assert (person.rank, person.where, person.confidence) == (Rank.DANGER, ("intake",), "indicative")
    assert person.facts["volts"] == pytest.approx(230 * 20 / 45, rel=1e-9) and KNOWN["M"] in person.because
    # memory: over 100 mA through 5 % of people is zone AC-4
    assert person.facts["zone"] == "AC-4" and person.value == person.span[1] > 100 > person.span[0]
    (metal,) = [c for c in result.claims if c.kind is Kind.METALWORK]
    assert metal.value == pytest.approx(230 * 20 / 45, rel=1e-9) and metal.rank is Rank.DANGER
    for f in result.findings:
        said = re.sub("does not mean that touching is safe|Do not rely on the main switch of intake to make its metalwork safe", "", f.message)
        assert not re.search(r"\bsafe(ly)?\b", said)


@pytest.mark.parametrize(("filters", "zone", "rank"), [(60e3, "AC-2", Rank.DANGER), (600e3, "AC-1", Rank.NOTE)])
def test_a_person_carries_no_more_than_what_feeds_the_metalwork_lets_through(filters, zone, rank):
    """Metalwork on nothing but two filters, from a line and from the neutral, is at half the line's voltage: behind half of one in series with the body."""
    points = (Point("house", "intake"), Point("office", "board", "house"))
    made = tuple(Load(name, "impedance", ends, "office", 230.0, parameters={"resistance": filters}) for name, ends in (("to L", ("L1", "PE")), ("to N", ("N", "PE"))))
    result = analyse(Case("desk", supply("TN-S", 2.0), points, made, breaks=(Break("office", "PE"),)))
    (person,) = [c for c in result.claims if c.kind is Kind.PERSON]
    # closed form: 115 V behind filters / 2 and 2 ohm of the source's electrode; published: IEC TS 60479-1, 1750 and 6100 ohm at 25 V and below for 5 and 95 % of people, 0.7 from hand to foot
    assert person.span == (pytest.approx(115e3 / (filters / 2 + 2 + 0.7 * 6100), rel=1e-6), pytest.approx(115e3 / (filters / 2 + 2 + 0.7 * 1750), rel=1e-6))
    assert (person.facts["zone"], person.rank, person.facts["volts"]) == (zone, rank, pytest.approx(115.0)) and person.facts["ohms"] == pytest.approx(filters / 2 + 2)
    assert "may last" not in person.because  # laws on how long a voltage may last suppose that it is there under touch
    (metal,) = [c for c in result.claims if c.kind is Kind.METALWORK and c.where == ("office",)]
    assert (metal.value, metal.rank) == (pytest.approx(115.0), Rank.DANGER)


def test_the_rule_of_70_volts():  # secondary: BS 7671:2018 regulation 722.411.4.1; derived: 2.5156 ohm gives 70 V
    (above,) = claims(single(own=2.53, source=0.0, ohms=5.75), Kind.CHARGING_POINT)
    assert (above.where, above.rank, above.yardstick.value, above.yardstick.edge) == (("intake",), Rank.WARNING, 70.0, "high")
    assert above.value == pytest.approx(230 * 2.53 / 8.28, rel=1e-9)
    assert not claims(single(own=2.51, source=0.0, ohms=5.75), Kind.CHARGING_POINT)
    assert not claims(single("TT", own=2.6, source=0.0, ohms=5.75), Kind.CHARGING_POINT)


@pytest.mark.parametrize("case", [single("TN-S"), single("TT"), single(breaks=())], ids=["TN-S", "TT", "whole"])
def test_no_danger_of_touch_where_the_earth_is_whole(case):  # practice
    assert not claims(case, Kind.PERSON, Kind.CHARGING_POINT, Kind.BETWEEN_METALWORK, Kind.METALWORK_UNKNOWN)
    assert all(c.rank is Rank.NOTE for c in claims(case, Kind.METALWORK))


def test_a_pipe_between_neighbours_is_told_and_its_heat():
    case = sharing_a_pipe(pipe=0.1, load=5.0)
    (told,), (hot,) = claims(case, Kind.DIVERTED), claims(case, Kind.BOND_HEAT)
    # closed form: pipe and the neighbour's PEN, 0.1 + 0.1 ohm, beside both electrodes, 20 + 2 ohm, in series with 5 ohm
    back = 1 / (1 / 0.2 + 1 / 22)
    amps = 230 / (5 + back) * back / 0.2
    name, most, part = told.facts["paths"][0]
    assert name == "path from a to b" and told.value == most == pytest.approx(amps, rel=1e-9)
    # before, the sound PEN of no impedance carried 230 V / 5 ohm, or what is left of it beside the pipe
    assert part == pytest.approx(amps / 46, rel=1e-6) and told.rank is Rank.WARNING
    assert (hot.about.name, hot.rank, hot.confidence) == ("path from a to b", Rank.FIRE, "indicative")
    assert hot.facts["amps"] == pytest.approx(amps) and hot.value > hot.yardstick.value and hot.unit == hot.yardstick.unit == "K"
    assert not claims(sharing_a_pipe(load=230.0), Kind.BOND_HEAT)  # one ampere warms nothing


def test_without_earthing_the_range_is_shown_as_if_tn_c_s():
    """Closed form: U0 RA / (RA + Zload) with an ideal source electrode."""
    case = single(earthing=None, source=0.0)
    result = touch_range(case)
    assert result.as_if and result.volts == pytest.approx(230 * result.ohms / (result.ohms + 23.0), rel=1e-9)
    (told,) = claims(case, Kind.ELECTRODE_RANGE)
    assert told.facts["as_if"] and told.where == ("intake",) and told.value == told.span[1] == pytest.approx(230.0)
    assert told.span[0] == pytest.approx(230 * 10 / 33, rel=1e-9) and told.facts["without"] == pytest.approx(230.0)


def test_the_range_is_for_an_electrode_that_is_not_given():
    assert touch_range(single()) is None and touch_range(single("TT")) is None
    ranged = touch_range(single(own=None, source=2.0))
    assert not ranged.as_if and np.all(np.diff(ranged.volts) > 0)


def test_alike_claims_are_joined_and_their_places_named_worst_first():
    result = analyse(street(40, broken=5, own=300.0))
    told = [c for c in result.claims if c.kind is Kind.METALWORK and c.rank is Rank.DANGER]
    homes = {p.name for p in result.case.points if p.kind == "intake" and int(p.name.split()[1]) >= 5}
    (live,) = told
    assert set(live.where) >= homes
    touched = {name: abs(result.after.reached.between((name, "PE"), ("earth", ""))) for name in live.where}
    assert [round(touched[name], 2) for name in live.where] == sorted((round(v, 2) for v in touched.values()), reverse=True)
    assert live.span == pytest.approx((min(touched.values()), max(touched.values()))) and live.value == live.span[1]
    (said,) = [f for f in result.findings if live in f.claims]
    assert f"{live.where[0]}, {live.where[1]}, {live.where[2]} and {len(live.where) - 3} other points" in said.lead
    assert len(result.findings) < 80


@pytest.mark.parametrize("case", [street(8), single(own=None), single(None), sharing_a_pipe()])
@pytest.mark.usefixtures("figures_unwritten")
def test_section_and_figures(case):
    result = analyse(replace(case, title="Earth"))
    blocks = earth(result)
    assert {"heading", "figure", "table"} <= {b["kind"] for b in blocks}
    for block in blocks:
        if block["kind"] == "figure":
            assert block["svg"].startswith("<svg") and len(block["alternative"]) > 30


def test_the_tree_says_every_part_in_words():
    case = street(3, broken=1)
    words = {p.name: ("whole",) if "0" in p.name else ("high", "live") for p in case.points}
    drawn, said = earth_figures.wiring_tree(case, words)
    assert "home 0 unaffected" in said and "home 2 above limits, live metalwork" in said
    assert drawn == earth_figures.wiring_tree(case, words)[0]  # the same bytes
