"""What the calculation comes to, at stated claims. Kind: the wording pins behaviour; counts and figures are those given."""

from dataclasses import replace
from types import SimpleNamespace

import pytest
from stated_claims import CLAIMS

from lostneutral import parse_case
from lostneutral.claims.model import Rank
from lostneutral.claims.verdicts import Verdict
from lostneutral.words.conclusion import (
    conclusion,
    fault_name,
    faults,
    how_many_items,
    hypothesis,
    not_explained,
    not_known,
    observations,
    voltages,
)

LOAD = '[[load]]\nname = "Lamp"\nkind = "lamp"\nconnect = "L1-N"\npower = 60\npoint = "shop"\n'
SUPPLY = 'title = "t"\n[supply]\nearthing = "TN-C-S"\n[[point]]\nname = "shop"\n[[point]]\nname = "shed"\nfed_from = "shop"\n'
CASE = parse_case(SUPPLY + '[[break]]\nfeeding = "shop"\n' + LOAD)
JOINT = parse_case(SUPPLY + '[[break]]\nfeeding = "shed"\nresistance = 1.5\n' + LOAD)
FAULTS = {
    '[[break]]\nfeeding = "shop"\n': "the PEN (combined neutral and protective conductor) in the cable to shop is open-circuit",
    '[[break]]\nfeeding = "shed"\n': "the neutral in the cable to shed is open-circuit",
    '[[break]]\nfeeding = "shed"\nresistance = 1.5\n': "the neutral in the cable to shed has a high-resistance joint (1.5 Ω)",
    '[[break]]\nfeeding = "shed"\nconductor = "L2"\n': "line L2 in the cable to shed is open-circuit",
    '[[break]]\nfeeding = "shed"\nconductor = "PE"\n': "the protective conductor in the cable to shed is open-circuit",
    '[[event]]\ntime = 1\nbreak = "shed"\n[[event]]\ntime = 2\nbreak = "shed"\nresistance = 0\n':
        "the neutral in the cable to shed was open-circuit for a time and was restored",
    '[[event]]\ntime = 1\nbreak = "shed"\nresistance = 2\n[[event]]\ntime = 2\nbreak = "shed"\nresistance = 0\n':
        "the neutral in the cable to shed had a high-resistance joint for a time and was restored",
    '[[cross]]\npoint = "shop"\nconductors = ["L1", "N"]\n': "L1 and N are transposed at shop",
    '[supply.transformer]\nrated_power = 1e5\n[[break]]\nfuse = "L1"\n': "the high-voltage fuse of line L1 is open-circuit",
    '[[event]]\ntime = 1\nbreak = "shed"\nresistance = 2\n[[event]]\ntime = 2\nbreak = "shed"\n':
        "the neutral in the cable to shed is open-circuit, after a time in which it had a high-resistance joint",
    '[[event]]\ntime = 1\nbreak = "shed"\n[[event]]\ntime = 2\nbreak = "shed"\nresistance = 0\n[[event]]\ntime = 3\nbreak = "shed"\n':
        "the neutral in the cable to shed is open-circuit, after a time in which it was restored",
    '[[break]]\nfeeding = "shed"\n[[event]]\ntime = 2\nbreak = "shed"\nresistance = 2\n':
        "the neutral in the cable to shed has a high-resistance joint (2.0 Ω), after a time in which it was open-circuit",
    '[[break]]\nfeeding = "shed"\n[[event]]\ntime = 1\nbreak = "shed"\nresistance = 2\n[[event]]\ntime = 2\nbreak = "shed"\nresistance = 0\n':
        "the neutral in the cable to shed was open-circuit for a time and was restored",
}


def faulty(text):
    head = ("" if "[[break]]" in text else "break = []\n") + SUPPLY
    return parse_case(head.replace("[[point]]", f"{text}[[point]]", 1) + LOAD if "supply." in text else head + text + LOAD)


@pytest.mark.parametrize("text", FAULTS, ids=list(FAULTS.values()))
def test_the_fault_that_is_considered(text):
    case = faulty(text)
    assert faults(case) == (FAULTS[text],)
    assert hypothesis(case) == (f"Considered here, as a hypothesis, is that {FAULTS[text]}; every figure is calculated for it, none is a "
                                "measurement unless it is called a reading.")


def test_the_heading_names_the_fault_that_is_considered():
    assert [fault_name(faulty(text)) for text in FAULTS] == [
        "loss of neutral", "loss of neutral", "high-resistance joint in the neutral", "loss of a phase", "loss of the protective conductor",
        "loss of neutral", "high-resistance joint in the neutral", "transposed conductors", "loss of a phase",
        *["loss of neutral"] * 4]
    many = list(FAULTS)
    assert fault_name(faulty(many[1] + many[3])) == fault_name(faulty(many[1] + many[7])) == "several wiring faults"
    # a joint that opens in the end is a loss of neutral
    assert fault_name(faulty(many[2] + '[[event]]\ntime = 60\nbreak = "shed"\n')) == "loss of neutral"
    assert fault_name(parse_case("break = []\n" + SUPPLY + LOAD)) == ""


def test_a_sound_installation_is_no_hypothesis():
    assert hypothesis(parse_case("break = []\n" + SUPPLY + LOAD)).startswith(
        "Considered here is the installation with no open-circuit or high-resistance conductor;")


def result(*names, case=CASE, verdicts=(), others=(), ever=True, ranges=None, **changed):
    claims = [replace(CLAIMS[name], **changed) for name in names]
    return SimpleNamespace(case=case, claims=claims, verdicts=verdicts, others=others, ranges=ranges,
                           incident=SimpleNamespace(ever=ever, moments=(1,)))


@pytest.mark.parametrize(("names", "words"), [
    (("line above",), "By calculation L2 at shop would be at about 338 V to neutral (above limits); L1 and L3 are within limits."),
    (("line below the outer limit",),
     "By calculation L2 would be at about 101 to 122 V to neutral (below limits); L1 and L3 are within limits."),
    (("line without voltage",), "By calculation L2 at shop would have no voltage to neutral and is STILL LIVE to earth; L1 and L3 are within limits."),
    (("line lost altogether",), "By calculation L2 at shop would have no voltage to neutral and is not proved dead; L1 and L3 are within limits."),
    (("line above", "floating"), "By calculation L2 at shop would be at about 338 V to neutral (above limits)."),
    (("line above",) * 5, "By calculation " + ", ".join(["L2 at shop would be at about 338 V to neutral (above limits)"] * 4)
     + " and 1 further deviation in the annex; L1 and L3 are within limits."),
    (("line above",) * 6, "By calculation " + ", ".join(["L2 at shop would be at about 338 V to neutral (above limits)"] * 4)
     + " and 2 further deviations in the annex; L1 and L3 are within limits."),
    ((), "By calculation every line is within limits, because the loads happen to be balanced: switching any of them will upset this."),
    (("supplies",), "By calculation every line is within limits.")])
def test_what_the_lines_would_be_at(names, words):
    assert voltages(result(*names)) == words


def test_within_limits_is_told_with_what_it_rests_on():
    assert voltages(result(case=JOINT)) == "By calculation every line is within limits as long as the joint conducts as well as assumed."
    assert voltages(result(case=JOINT, ever=False)) == "By calculation every line is within limits."


def test_of_one_premises_nothing_is_said_on_why_its_lines_are_within_limits():
    # practice: next door, or before the break, balance holds nothing; lines at other premises may be outside the limits
    case = replace(CASE, document=replace(CASE.document, premises="shed"))
    assert voltages(result(case=case, others=(SimpleNamespace(fails=False),))) == (
        "By calculation every line at shed is within limits; switching any load on this supply may change that.")


def test_one_line_that_is_left_is_named():
    claims = [replace(CLAIMS["line above"], about=replace(CLAIMS["line above"].about, name=line)) for line in ("L1", "L3")]
    made = result()
    made.claims = claims
    assert voltages(made).endswith("; L2 is within limits.")


def test_items_are_counted_by_what_becomes_of_them():
    def told(*names, off=0, others=()):
        made = result(*names, verdicts=[None] * (len(names) + off), others=others)
        made.claims = [replace(c, rank=rank) for c, rank in zip(made.claims, (RANKS[name] for name in names))]
        return how_many_items(made)

    RANKS = {"fails": Rank.DAMAGE, "stressed": Rank.WARNING, "dim": Rank.NOTE, "unharmed": Rank.NOTE, "cannot be said": Rank.DAMAGE}  # noqa: N806
    assert told() == ()
    assert told("fails", "stressed", "dim", "unharmed", off=1) == (
        "Of 5 items of equipment, 1 would be expected to fail, 1 would be overstressed or would not work properly, 1 would be "
        "affected but is not expected to be damaged, 1 is not expected to be damaged by this condition alone and 1 was switched off.",)
    assert told(*("fails", "stressed", "dim", "unharmed") * 2, off=2) == (
        "Of 10 items of equipment, 2 would be expected to fail, 2 would be overstressed or would not work properly, 2 would be "
        "affected but are not expected to be damaged, 2 are not expected to be damaged by this condition alone and 2 were switched off.",)
    assert told("stressed", "cannot be said") == ("Of 2 items of equipment, 1 would be overstressed or would not work properly and for 1 no outcome can be stated.",)
    elsewhere = [Verdict("a", "fails in days"), Verdict("b", "dim"), Verdict("c", "fails in seconds")]
    assert told("dim", others=elsewhere)[1] == "Of 3 items at other premises, 2 would be expected to fail."


@pytest.mark.parametrize(("names", "words"), [
    ((), "No observation was given with which this calculation could be compared."),
    (("read",), "The one observation agrees with this calculation."),
    (("read", "seen True"), "Both observations agree with this calculation."),
    (("read", "seen None"), "Of 2 observations, 1 agrees with this calculation, for 1 it cannot be said."),
    (("seen None",), "Whether the one observation agrees with this calculation cannot be said."),
    (("seen False",), "The one observation does NOT agree with this calculation: Lamp at shop."),
    (("seen None", "read, wrong"), "Of 2 observations, none agrees with this calculation, for 1 it cannot be said; NOT in agreement: L1-N at shop."),
    (("read", "seen True", "seen None", "seen False", "read, wrong"),
     "Of 5 observations, 2 agree with this calculation, for 1 it cannot be said; NOT in agreement: Lamp at shop and L1-N at shop.")])
def test_observations_are_counted_and_those_against_it_named(names, words):
    assert observations(result(*names)) == words


def test_what_is_not_known_is_said_with_what_it_leaves():
    unknown = parse_case(SUPPLY + '[[break]]\nfeeding = "shop"\n' + LOAD + '[[unknown]]\nload = "Lamp"\non = 0.5\n[[unknown]]\nbreak = "shop"\n'
                         'resistance = { low = 1, high = 9 }\n[[unknown]]\nsupply_voltage = { low = 220, high = 240 }\n')
    first = "Not known: the state (on or off) or the power of Lamp, the resistance of the joint in the cable to shop and the supply's voltage; " \
        "on this page they are taken as the case gives them."
    ranges = SimpleNamespace(highest=SimpleNamespace(middle=300.0, low=251.2, high=377.7))
    assert not_known(result(case=unknown)) == (first,)
    assert not_known(result(case=unknown, ranges=ranges)) == (first, "With these unknown, the highest voltage of any line to its neutral lies "
                                                              "between 251 V and 378 V in 90 % of the cases sampled.")
    ranges.highest.middle = None
    assert not_known(result(case=unknown, ranges=ranges))[1].startswith("In every case sampled the neutral has no defined potential")


def test_the_chief_hinges_are_told_and_the_others_counted():
    def told(*danger):
        made = result()
        made.claims = [replace(CLAIMS["hangs on a joint"], about=replace(CLAIMS["hangs on a joint"].about, name=f"cable {n}"),
                               facts=CLAIMS["hangs on a joint"].facts | {"danger": grave}) for n, grave in enumerate(danger)]
        made.claims.append(CLAIMS["not varied"])
        return not_known(made)

    assert [text[:49] for text in told(False, True)] == [f"The resistance of the joint in the cable to cable {n}"[:49] for n in (1, 0)]
    assert "cable 1 was" in told(False, True)[0] and "cable 0 was" in told(False, True)[1]
    assert told(True, True, True)[2:] == ("The answer depends on 1 further assumed value too (in the annex).",)
    assert told(True, True, True, True)[2:] == ("The answer depends on 2 further assumed values too (in the annex).",)


def test_what_is_not_explained():
    assert not_explained(result("unharmed", "fails")) == (
        "Damage to Kettle: not expected from this condition alone. If there is any, other causes should be investigated.",)
    assert not_explained(result("unharmed", "unharmed", "read, wrong", "read")) == (
        "Damage to Kettle and Kettle: not expected from this condition alone. If there is any, other causes should be "
        "investigated.", "Read: L1-N at shop 180 V before the fault. Calculated: about 199 to 231 V.")


def test_a_conclusion_is_in_its_order():
    made = conclusion(result("settling several", "line above", "supplies", "fails", "read", verdicts=[None]))
    assert [text[:16] for text in made] == ["3 settled states", "By calculation L", "The power suppli", "Of 1 item of equ", "The one observat"]
    assert not any("settled" in text for text in conclusion(result("settling none before", "settling one of several")))
