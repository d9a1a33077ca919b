"""Every sentence of a claim at stated figures: subject, sentence, what follows, figure. Kind: the wording pins behaviour, figures are
those of `stated_claims.py`, rounded by hand."""

import tomllib
from dataclasses import replace
from pathlib import Path

import pytest
from handmade_star import find, only, settled, star_case
from stated_claims import CLAIMS, FEW, HALVES, SOME, THREE

from lostneutral.claims.model import Kind, Rank
from lostneutral.claims.verdicts import Verdict
from lostneutral.report.base.words import number, significant
from lostneutral.words.amounts import (
    about,
    amount,
    at_places,
    between,
    exactly,
    failing,
    listed,
    named,
    share,
    soon,
    to_figures,
    volts,
)
from lostneutral.words.english import said
from lostneutral.words.findings import findings
from lostneutral.words.observed import observation
from lostneutral.words.schedule import effect, in_brief, schedule, soonest
from lostneutral.words.terms import when
from lostneutral.words.times import duration, span

TEXTS = tomllib.loads((Path(__file__).parent / "sentences.toml").read_text(encoding="utf-8"))


@pytest.mark.parametrize("name", CLAIMS)
def test_a_claim_says_this_and_nothing_else(name):
    words = said(CLAIMS[name], HALVES if name.endswith("halves") else THREE)
    assert [words.subject, words.lead, words.more, words.computed or ""] == TEXTS[name]
    assert words.message == f"{words.lead} {words.more}".strip()


def test_every_kind_of_claim_has_its_text_and_no_text_is_left_over():  # invariant
    assert {claim.kind for claim in CLAIMS.values()} == set(Kind)
    assert set(TEXTS) == set(CLAIMS)


def test_when_a_claim_holds():
    assert [when(CLAIMS[name]) for name in ("line above", "line below", "line above at places")] == \
        ["", " for 2.5 seconds", " in 2 of 3 possible settled states"]
    assert (FEW.stage, SOME.held) == ("stage", 2)


@pytest.mark.parametrize(("name", "words"), [
    ("read", ("L1-N at shop 180 V", "about 181 V", "agrees")),
    ("read, wrong", ("L1-N at shop 180 V before the fault", "about 199 to 231 V", "does NOT agree")),
    ("read, floating", ("L1-N at shop 180 V", "anything from 0 to 230 V, because a conductor has no defined potential", "cannot be said")),
    ("seen None", ("Lamp: dimmer or weaker", "dim (about 121 V)", "cannot be said")),
    ("operated False", ("Relay did not operate", "may operate", "does NOT agree"))])
def test_an_observation_in_a_few_words(name, words):
    assert observation(CLAIMS[name]) == words


# The schedule of items

def rows(*names, off=()):
    return schedule([CLAIMS[name] for name in names], [Verdict(name, "was off") for name in off])


@pytest.mark.parametrize(("name", "row"), [
    ("fails", ("331 V", "failure expected after about 10 minutes (4 to 25 minutes)", "44 % above rated voltage; component to inspect: filament (open-circuit)")),
    ("fails, no central time", ("331 V", "failure expected, possibly within 67 minutes; an upper end cannot be stated",
                                "44 % above rated voltage; component to inspect: varistor (short-circuit)")),
    ("stalls and overheats", ("121 V", "stalled and overheating; failure expected after about 60 seconds (20 to 90 seconds)",
                              "47 % below rated voltage; component to inspect: winding")),
    ("shortened", ("251 V", "reduced life; failure within a week is unlikely", "9 % above rated voltage")),
    ("shortened, may fail", ("331 V", "reduced life; failure within 14 seconds is possible", "44 % above rated voltage")),
    ("unharmed", ("201 V", "no damage expected", "13 % below rated voltage, which by calculation does no damage")),
    ("unharmed within limits", ("231 V", "no damage expected", "voltage within limits")),
    ("cannot be said", ("281 V", "cannot be said; in the worst possible state: failure expected within days", "22 % above rated voltage")),
    ("cannot be said, no voltage", ("", "cannot be said", "no voltage can be stated")),
    ("stressed", ("281 V", "overstressed for a time; had it persisted: failure expected within days", "22 % above rated voltage")),
    ("fails, unequal lines", ("397 V", "failure expected after about 33 minutes (17 to 67 minutes)",
                       "the voltages of the three lines are unequal; component to inspect: winding")),
    ("dim", ("101 V", "dim", "56 % below rated voltage"))])
def test_a_row_of_the_schedule(name, row):
    (found,) = rows(name)
    assert (found.voltage, found.effect, found.why) == row
    assert (found.items, found.rank, found.outcome) == (("Kettle",), Rank.WARNING, CLAIMS[name].facts["verdict"].outcome)


def test_equal_items_share_a_row_and_those_off_stand_last():
    one, other, off = rows("unharmed", "shortened", "shortened, much", "shortened, little", off=("Iron", "Fan"))
    assert (len(one.items), one.why) == (1, "13 % below rated voltage, which by calculation does no damage")
    assert len(other.items) == 3 and other.why == "9 % above rated voltage" and other.names(1) == "Kettle and 2 others"
    assert (off.items, off.effect, off.why, off.rank) == (("Iron", "Fan"), "not judged", "switched off", Rank.NOTE)


def test_the_gravest_row_stands_first_and_unequal_voltages_are_a_range():
    import dataclasses

    grave = dataclasses.replace(CLAIMS["fails"], rank=Rank.DAMAGE)
    found = dataclasses.replace(CLAIMS["dim"].facts["verdict"], volts=150.0, ratio=150 / 230)
    less = dataclasses.replace(CLAIMS["dim"], value=150.0, facts=CLAIMS["dim"].facts | {"verdict": found})
    first, second = schedule([CLAIMS["dim"], less, grave], [])
    assert first.outcome == "fails in minutes"
    assert (second.voltage, second.why) == ("101 to 150 V", "35 to 56 % below rated voltage")


@pytest.mark.parametrize(("outcome", "times", "words"), [
    ("fails in hours", (3600.0, 14 * 3600.0, 90000.0), ("failure expected", ", after about 14 hours")),
    ("fails in hours", (3600.0, None, None), ("failure expected", ", possibly after 60 minutes")),
    ("fails in hours", (60.0, 600.0, 6001.0), ("failure expected", ", possibly after 60 seconds")),
    ("fails in hours", (60.0, 600.0, 6000.0), ("failure expected", ", after about 10 minutes")),
    ("fails in hours", (None, None, None), ("failure expected", "")),
    ("stalls and overheats", (5.0, 20.0, 60.0), ("stalled and overheating", ", after about 20 seconds")),
    ("dim", (5.0, 20.0, 60.0), ("dim", ""))])
def test_how_soon_in_brief(outcome, times, words):
    found = Verdict("Kettle", outcome, 300.0, 1.3, earliest=times[0], central=times[1], latest=times[2])
    assert soonest(found) == words[1] and in_brief(found) == "".join(words)
    if outcome == "fails in hours" and times[1:] == (None, None):
        assert effect(found) == ("failure expected, possibly within 60 minutes; an upper end cannot be stated" if times[0] else "failure expected")


def test_what_may_fail_within_days_says_so_in_brief_too():
    assert in_brief(Verdict("Strip", "shortened life", 331.0, 1.4, earliest=14.0)) == "reduced life; failure within 14 seconds is possible"
    assert in_brief(Verdict("Strip", "shortened life", 251.0, 1.1, earliest=40 * 86400.0)) == "reduced life"  # not within a week


def test_how_soon_in_brief_from_the_beginning_of_the_incident():
    later = Verdict("Kettle", "fails in hours", 300.0, 1.3, earliest=3600.0, central=50400.0, latest=90000.0, later=True)
    assert soonest(later) == ", about 14 hours into the incident" and soonest(replace(later, latest=None)) == ", possibly 60 minutes into the incident"


def test_items_that_come_to_no_harm_share_a_finding():
    import dataclasses

    fine = [dataclasses.replace(CLAIMS["unharmed"], rank=Rank.NOTE), dataclasses.replace(CLAIMS["unharmed within limits"], rank=Rank.NOTE)]
    dim = [dataclasses.replace(CLAIMS["dim"], rank=Rank.NOTE)] * 2
    first, second, third = findings([CLAIMS["line above"], *fine, *dim], THREE)
    assert (first.severity, first.lead, first.computed) == ("damage", TEXTS["line above"][1], "338 V")
    assert (second.severity, second.subject, second.lead) == (
        "note", "Items: no damage expected", "This condition alone is not expected to damage Kettle (201 V) and Kettle (231 V).")
    assert second.message == second.lead + " If there is damage, other causes should be investigated." and len(second.claims) == 2
    assert (third.subject, third.message) == ("Items: dim", "Dim: Kettle (101 V) and Kettle (101 V).")


# Figures (arithmetic: rounding by hand)

@pytest.mark.parametrize(("value", "figures", "words"), [
    (186.7, 3, "187"), (186.7, 2, "190"), (0.1249, 2, "0.12"), (0.000099, 2, "0"), (0.0001, 2, "0.00010"),
    # what rounds up to the next power of ten has no figure more for it
    (9.94, 2, "9.9"), (9.96, 2, "10"), (0.0996, 2, "0.10"), (0.996, 2, "1.0"), (99.96, 3, "100"), (999.6, 3, "1000"), (-9.96, 2, "-10"),
    (float("inf"), 2, "–"), (float("nan"), 2, "–"), (-12.34, 3, "-12.3")])
def test_figures(value, figures, words):
    assert to_figures(value, figures) == words


@pytest.mark.parametrize(("value", "unit", "words"), [
    (0.049, "V", "0 V"), (0.05, "V", "0.1 V"), (9.94, "V", "9.9 V"), (9.96, "V", "10 V"), (338.5, "V", "338 V"), (1234.0, "A", "1230 A"),
    (9.96, "A", "10 A"), (99.6, "A", "100 A"), (9.996, "mA", "10 mA"), (0.0104, "A", "0.010 A"), (10.4, "%", "10 %"), (99.4, "W", "99 W"), (100.4, "W", "100 W"), (123.4, "K", "123 K"), (123.4, "°C", "120 °C"),
    (999999.0, "ohm", "1000000 Ω"), (1.5e6, "ohm", "1.5 MΩ"), (2.0, "", "2.0")])
def test_amounts(value, unit, words):
    assert amount(value, unit) == words and (volts(value) == words) is (unit == "V")
    assert about(value, unit) == (words if words == "0 V" else f"about {words}")


@pytest.mark.parametrize(("value", "unit", "figures", "words"), [
    (0.7531, "A", 3, "0.753 A"), (9.996, "W", 3, "10.0 W"), (1e-6, "A", 3, "0.00000100 A"), (9e-7, "A", 3, "0 A"), (None, "A", 3, "–"), (-0.5, "A", 2, "-0.50 A"),
    (123456.0, "Ω", 3, "123000 Ω"), (7.0, "", 2, "7.0")])
def test_figures_of_tables(value, unit, figures, words):
    assert significant(value, unit, figures) == words


@pytest.mark.parametrize(("value", "decimals", "words"), [(66.395, 1, "66.4"), (0.04, 1, "0.0"), (-0.04, 1, "0.0"), (-0.06, 1, "-0.1"), (289.5, 0, "290"),
                                                          (None, 1, "–"), (float("nan"), 1, "–")])
def test_numbers_of_tables(value, decimals, words):
    assert number(value, decimals) == words


@pytest.mark.parametrize(("touch", "figure", "high", "at"), [
    (25.1, "5.9 to 21 mA", "21 mA", "25 V"), (50.0, "16 to 52 mA", "52 mA", "50 V"), (100.0, "46 to 140 mA", "140 mA", "100 V"), (230.0, "170 to 430 mA", "430 mA", "230 V")])
def test_a_touch_voltage_becomes_milliamperes(touch, figure, high, at):
    # published: IEC TS 60479-1, 95 and 5 % of people, 6094 and 1748.5, 4600 and 1375, 3125 and 990, 1882 and 773 ohm; 0.7 of it from hand to foot
    case = star_case(earthing="TN-C-S")
    claim = only(find(case, settled(case, 0j, pe=touch + 0j)), Kind.PERSON)
    words = said(claim, case)
    assert words.computed == figure and words.more.startswith(f"{figure} at about {at}, through a dry body") and f"may carry up to about {high}:" in words.lead


def test_ranges_names_and_times():
    assert (exactly(80.4, 332.0, "V"), exactly(80.1, 80.4, "V"), between(80.4, 332.0, "V"), between(80.1, 80.4, "V"), between(0.0, 0.01, "V")) == (
        "80 to 332 V", "80 V", "about 80 to 332 V", "about 80 V", "0 V")
    assert (share(1.256), share(0.884), share(1.0)) == ("26 % above", "12 % below", "0 % above")
    assert (listed(["a"]), listed(["a", "b"]), listed(["a", "b", "c"])) == ("a", "a and b", "a, b and c")
    assert (named("abcd", 4), named("abcd", 3), named("abcd", 2)) == ("a, b, c and d", "a, b, c and 1 other", "a, b and 2 others")
    assert [at_places(list("abcde")[:n]) for n in range(6)] == [
        "", " at a", " at a and b", " at a, b and c", " at a, b, c and 1 other point", " at a, b, c and 2 other points"]
    assert [duration(s) for s in (1.0, 1.04, 119.0, 121.0, 7199.0, 7201.0, 1209599.0, 1209601.0, 31557599.0, 31557601.0)] == [
        "1 second", "1 second", "120 seconds", "2 minutes", "120 minutes", "2 hours", "340 hours", "14 days", "370 days", "more than a year"]
    assert [span(*ends) for ends in ((None, None), (None, 60.0), (60.0, None), (60.0, 60.4), (60.0, 90.0), (60.0, 4e7))] == [
        "not in this state", "up to 60 seconds", "from 60 seconds", "60 seconds", "60 to 90 seconds", "60 seconds to more than a year"]
    assert [soon(*times) for times in ((None, None, None), (60.0, 600.0, 6000.0), (60.0, 600.0, 6001.0), (60.0, 600.0, None), (60.0, None, 90.0))] == [
        "", "about 10 minutes (60 seconds to 100 minutes)", "possibly within 60 seconds; an upper end cannot be stated",
        "possibly within 60 seconds; an upper end cannot be stated", "possibly within 60 seconds"]
    assert [soon(*times, later=True) for times in ((None, None, None), (60.0, 600.0, 6000.0), (60.0, 600.0, None))] == [
        "", "about 10 minutes (60 seconds to 100 minutes), counted from the beginning of the incident",
        "possibly within 60 seconds of the beginning of the incident; an upper end cannot be stated"]
    assert failing(60.0, 600.0, 900.0) == "failure expected after about 10 minutes (60 seconds to 15 minutes)"
    assert failing(60.0, None, 90.0) == "failure expected, possibly within 60 seconds" and failing(None, None, None) == "failure expected"


def test_names_that_have_a_comma_are_kept_apart():  # of a street: what belongs to which house is not to be guessed
    street = ("heater, house 1", "lamp, house 2", "kettle, house 2")
    assert listed(street) == "heater, house 1; lamp, house 2; and kettle, house 2" and listed(("a", "b", "c")) == "a, b and c"
    assert listed(("a", "lamp, house 2")) == "a; and lamp, house 2" and listed(street[:1]) == "heater, house 1"
    assert named(street, 1) == "heater, house 1 and 2 others" and named(street, 2) == "heater, house 1; lamp, house 2 and 1 other"
