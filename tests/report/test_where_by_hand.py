"""What `where` answers, of places put in by hand: which rows come, in what order, what is counted, what a program reads. Kind of all: behaviour laid down."""

import json
from math import inf
from types import SimpleNamespace

import handmade
import pytest

from lostneutral.case.model import Break, Cross
from lostneutral.evidence.next_reading import NextReading
from lostneutral.evidence.places import Place
from lostneutral.evidence.where import Outcome, Where
from lostneutral.report.base.cautions import SAFE_WAY
from lostneutral.report.evidence.where_text import CAVEAT, UNRANKED, where_json, where_text
from lostneutral.report.screen.short_answers import where_in_short

STAR = handmade.star([100.0, 200.0, 300.0])
WIDE = 2000
OPEN = Place("open neutral", "intake", "open neutral in the cable to intake", (Break("intake", "N", inf),))
JOINT = Place("bad joint", "shed", "bad joint in the cable to shed", (Break("shed", "N", 4.0),))
HOT = Place("bad joint", "intake", "bad joint of L1", (Break("intake", "L1", 4.0),))
SWAP = Place("exchange", "", "N and L1 exchanged at intake", (), (Cross("intake", ("N", "L1")),))
READING = NextReading("intake", ("N", "PE"), 0.8, 1.0, (("open", 1.0, 80.4, 90.0), ("joint", 0.0, None, 0.0), ("third", 0.0, 5.0, 9.0)), "voltmeter")


def outcome(place, support, **more):
    settles = lambda: (STAR.after.reached, {"intake": ("high", "live")})
    return Outcome(place, **{"settles": settles, "support": support, "misfit": 2.0, "prior": 0.25} | more)


FITS = (("L1-N at intake 290 V", "289 V", 0.1), ("N-PE at intake 80 V", "0 V", 30.0))
FOUND = Where((outcome(OPEN, 0.9, misfits=FITS), outcome(JOINT, 0.09, ratio=10.0, misfits=FITS[:1]), outcome(SWAP, 0.0095, ratio=inf, misfits=FITS[1:]),
               outcome(SWAP, 0.001, ratio=2e6, misfits=FITS), outcome(SWAP, 0.0009, ratio=3.0)), True, READING, ("A note.",), declined="Two fit alike.")
WOULD = "L1 above limits, L3 below limits, metalwork live (intake)."


def paragraphs(text):
    return text.split("\n\n")


def test_places_in_the_order_of_their_probability_with_what_was_seen():
    told = paragraphs(where_text(STAR.case, FOUND, WIDE))
    assert told[0] == "Possible location of the fault: Three lamps on a stair" and told[1].startswith("Cautions (in full at the end): ")
    assert told[2] == CAVEAT and told[3] == "No place is named as leading. Two fit alike."
    assert told[4].split("\n") == [
        f"  1. 90 % (fits best)  {OPEN.words}: {WOULD}", "     - L1-N at intake 290 V; calculated for this location: 289 V",
        "     - N-PE at intake 80 V; calculated for this location: 0 V (does not fit)",
        f"  2. 9 % (LR 10)  {JOINT.words}: {WOULD}", "     - L1-N at intake 290 V; calculated for this location: 289 V",
        f"  3. 0.95 % (LR more than a million)  {SWAP.words}: {WOULD}",
        "     - N-PE at intake 80 V; calculated for this location: 0 V (does not fit)",
        f"  4. 0.1 % (LR more than a million)  {SWAP.words}: {WOULD}"]  # what was seen stands with the first three only; a thousandth is still shown
    assert told[5] == "1 more places, less probable, are in the JSON results (--json)."
    steps = told[6].split("\n")
    assert steps[0] == "Next steps, in this order" and all(s.startswith("- ") for s in steps[1:])
    assert any("of the cable to intake and of that to shed," in s for s in steps)
    assert told[7].split("\n")[0].endswith("Calculated: about 80 V (open); floating (joint); about 5 V (third). This reading would tell the two leading causes well apart.") and told[7].endswith(SAFE_WAY)
    assert told[8] == "A note." and told[9].startswith("Cautions\n- ") and told[9].endswith("\n")
    assert all(line.startswith("- ") for line in told[9].strip().split("\n")[1:])


def test_only_cables_of_places_that_play_a_part_are_gone_to():
    some = Where((outcome(OPEN, 0.99), outcome(JOINT, 0.01)), True, None)
    text = where_text(STAR.case, some, WIDE)
    assert "of the cable to intake," in text and "of that to shed" not in text
    assert "of that to shed" in where_text(STAR.case, Where((outcome(OPEN, 0.98), outcome(JOINT, 0.011)), True, None), WIDE)


def test_without_observations_places_are_listed_without_rank():
    many = Where(tuple(outcome(OPEN, 0.0) for _ in range(27)), False, None)
    told = paragraphs(where_text(STAR.case, many, WIDE))
    assert told[2] == UNRANKED and len(told[3].split("\n")) == 25 and told[3].startswith(f"  1. {OPEN.words}: {WOULD}\n")
    assert told[4] == "2 more places are in the JSON results (--json)." and told[5].startswith("Cautions\n")
    assert "calculated for this location" not in told[3] and "Next steps" not in "".join(told)


@pytest.mark.parametrize("width", [40, 72])
def test_lines_keep_to_their_columns(width):
    for text in (where_text(STAR.case, FOUND, width), where_in_short(STAR.case, FOUND, width)):
        assert all(len(line) <= width for line in text.split("\n")) and text.endswith("\n")


def test_the_answer_on_one_screen():
    told = paragraphs(where_in_short(STAR.case, FOUND, WIDE))
    title = "Possible location of the fault: Three lamps on a stair"
    assert told[0].split("\n") == [title, "=" * len(title), "A note.", "No place is named as leading. Two fit alike."]
    assert told[1].split("\n") == [f"1. 90 % (fits best)  {OPEN.words}: {WOULD}", f"2. 9 % (LR 10)  {JOINT.words}: {WOULD}",
                                   f"3. 0.95 % (LR more than a million)  {SWAP.words}: {WOULD}", "2 more places, less probable."]
    assert told[2].split("\n") == [told[2].split("\n")[0], SAFE_WAY] and told[2].split("\n")[0].endswith("Calculated: about 80 V (open); floating (joint). This reading would tell the two leading causes well apart.")
    assert told[3].startswith("The percentage is its posterior probability;") and told[4].startswith("Cautions: ")
    assert "Possible location" not in told[4] and told[4].strip().endswith("--full.")
    least = lambda share: where_in_short(STAR.case, Where((outcome(OPEN, 0.999), outcome(JOINT, share)), True, None), WIDE)
    assert f"2. 0.1 % (fits best)  {JOINT.words}" in least(0.001) and "\n1 more place, less probable." in least(0.00099)


def test_one_screen_without_observations():
    told = paragraphs(where_in_short(STAR.case, Where(tuple(outcome(OPEN, 0.0) for _ in range(4)), False, None, tuple("abcd")), WIDE))
    assert told[0].split("\n")[2:] == [UNRANKED, "a", "b", "c"]  # three notes at most
    assert told[1].split("\n")[-1] == "1 more place." and told[2].startswith("Cautions: ")


def test_the_answer_for_programs():
    asked = SimpleNamespace(cause="", highest=(300.0, 310.0, inf), lowest=(1.0, 2.0, 3.0), phases=[("L1", (1.0, 2.0, 3.0), (4.0, 5.0, 6.0))], metalwork=None)
    unsolved = outcome(SWAP, 0.05, settles=lambda: (None, {}), ratio=inf, asks=lambda: asked)
    text = where_json(STAR.case, Where((outcome(OPEN, 0.95, misfits=FITS[:1]), outcome(HOT, 0.0), unsolved), True, READING, ("Ω",), declined=""))
    made = json.loads(text)
    assert "Ω" in text and text.endswith("}\n") and text.startswith('{\n "format": "lostneutral-where/1"')
    first, second, third = made["places"]
    assert first == {"kind": "open neutral", "run": "intake", "words": OPEN.words, "rival": OPEN.is_rival, "breaks": [{"conductor": "N", "feeding": "intake", "resistance": "open"}],
                     "crosses": [], "points": {"intake": ["high", "live"]}, "solved": True, "joint_heat": 0.0, "misfit": 2.0, "support": 0.95, "prior": 0.25,
                     "posterior": 0.95, "ratio_of_best_to_this": 1.0, "asked": None,
                     "observations": [{"seen": "L1-N at intake 290 V", "gives": "289 V", "misfit": 0.1}]}
    assert second["breaks"][0]["resistance"] == 4.0 and second["joint_heat"] == pytest.approx(4.0 * (100 / 230) ** 2 * 19 / 12)  # 0.55 A in 4 Ω
    assert (third["solved"], third["joint_heat"], third["misfit"], third["ratio_of_best_to_this"]) == (False, None, None, None)
    assert third["crosses"] == [{"point": "intake", "conductors": ["N", "L1"]}]
    assert third["asked"] == {"cause": None, "highest": [300.0, 310.0, None], "lowest": [1.0, 2.0, 3.0],
                              "phases": {"L1": {"lowest": [1.0, 2.0, 3.0], "highest": [4.0, 5.0, 6.0]}}, "metalwork": None}
    assert made["observed"] is True and made["declined"] is None and made["notes"] == ["Ω"] and made["cautions"]
    assert made["next_reading"] == {"point": "intake", "between": "N-PE", "strength": READING.strength, "instrument": "voltmeter",
                                    "expected": [{"place": "open", "voltage": 80.4}, {"place": "joint", "voltage": None}, {"place": "third", "voltage": 5.0}]}
    unseen = json.loads(where_json(STAR.case, Where((outcome(OPEN, 0.0),), False, None, declined="why")))
    assert [unseen["places"][0][k] for k in ("support", "posterior", "ratio_of_best_to_this")] == [None] * 3
    assert unseen["next_reading"] is None and unseen["declined"] == "why"
