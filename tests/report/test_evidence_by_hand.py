"""What is said of weighed causes and of places, from weights put in by hand: at which figure the words change. Kind of all: behaviour laid down."""

from math import inf
from types import SimpleNamespace

import handmade
import pytest

from lostneutral import data, parse_case
from lostneutral.case.model import Point
from lostneutral.evidence.deduction import Fit, Weighed
from lostneutral.evidence.scale import support
from lostneutral.report.evidence import rows, verdict, where_text

SCALE = data.load("evidence")["scale"]["words"]


def cause(words, kind="open neutral", evidence=1.0, posterior=0.5, prior=0.1, against=1.0, at="", error=0.0, fits=()):
    return Weighed(kind, words, at, prior, evidence, 0.0, 100.0, posterior, error, against, tuple(fits))


def found(*rivals, ratio=20.0, complete=True, unexplained=(), against=(), **more):
    kinds = [SimpleNamespace(kind=rivals[0].kind, words="an open neutral", prior=0.4, posterior=0.8, ratio=ratio, support=support(max(ratio, 1.0)))]
    return SimpleNamespace(**{"rivals": list(rivals), "kinds": kinds, "complete": complete, "unexplained": unexplained, "against": against, "ceilings": ()} | more)


A, B = cause("A"), cause("B", "bad joint", evidence=0.2)


def test_ratios_in_words():
    assert [verdict.ratio_words(x) for x in (0.0, 0.9e-6, 1e-6, 0.25, 1.0, 2871.0, 1e6, 1.1e6, inf)] == [
        "less than a millionth", "less than a millionth", "1/1000000", "1/4.0", "1", "2900", "1000000", "more than a million", "more than a million"]
    assert [verdict.about_ratio(x) for x in (inf, 20.0)] == ["more than a million", "about 20"]
    share = lambda p, e: verdict.share_words(cause("", posterior=p, error=e))
    assert [share(0.5, 0.0005), share(0.5, 0.0004), share(0.9995, 0.01), share(0.0005, 0.01), share(0.001, 0.01), share(0.999, 0.01)] == [
        "50 % ± 0.5".replace("0.5", "0.05"), "50 %", "> 99.9 %", "< 0.1 %", "0.1 % ± 1", "99.9 % ± 1"]


def test_the_verdict_on_a_cause():
    said = verdict.verdict_on_cause(found(A, B))
    assert len(said) == 3 and said[0].startswith(f"The observations provide {SCALE[2]} (likelihood ratio about 20) for “an open neutral” rather than all other ")
    assert "taken together" in said[0]  # a single one may fit as well
    assert said[1].startswith("With the prior probabilities listed (“an open neutral”: 40 %), the posterior probability of “A” would be 50 %.")
    assert said[2] == f"The next most likely cause of another kind is “B” (likelihood ratio about 5.0, {support(5.0)} for the first)."
    assert verdict.verdict_on_cause(found(A, B, complete=False))[0] == verdict.INCOMPLETE and len(verdict.verdict_on_cause(found(A))) == 2
    assert verdict.verdict_on_cause(found(A, B), probability=False)[1] == "Of the causes considered, “A” fits the observations best."
    assert verdict.verdict_on_cause(found(A, cause("B", "bad joint", 0.2, against=0.5)), probability=False)[1].endswith("“B” fits the observations best.")


def test_a_cause_is_told_with_the_prior_of_its_own_kind():
    """A kind may lead by its many places, though none of them is the most probable one."""
    kinds = [SimpleNamespace(kind=kind, words=words, prior=prior, posterior=0.4, ratio=1.0, support="") for kind, words, prior in (
        ("bad joint", "a bad joint", 0.24), ("open neutral", "an open neutral", 0.4))]
    assert verdict.verdict_on_cause(found(A, B, kinds=kinds))[1].startswith("With the prior probabilities listed (“an open neutral”: 40 %)")


@pytest.mark.parametrize(("ratio", "supports"), [(2.0, True), (1.99, False)])
def test_support_begins_at_twice(ratio, supports):
    assert verdict.verdict_on_cause(found(A, B, ratio=ratio))[0].startswith("The observations provide" if supports else "The observations do not support any kind")


@pytest.mark.parametrize(("evidence", "words"), [
    (0.5, "The next most likely cause of another kind is “B” (likelihood ratio about 2.0"), (0.51, "The observations do not distinguish between “A” and “B” (likelihood ratio about 2.0)."),
    (2.0, "The observations do not distinguish between “A” and “B” (likelihood ratio about 1/2.0)."), (2.1, "“B” fits the observations better (likelihood ratio about 2.1, "),
    (0.0, "The next most likely cause of another kind is “B” (likelihood ratio more than a million")])
def test_the_rival_of_another_kind(evidence, words):
    assert verdict.verdict_on_cause(found(A, cause("B", "bad joint", evidence)))[-1].startswith(words)


def test_places_that_fit_as_well():
    told = lambda *others: [x for x in verdict.verdict_on_cause(found(A, *others)) if "where it was" in x]
    assert told(cause("C", evidence=0.51)) == ["The observations do not show where it was: “C” fits as well."]
    assert told(cause("C", evidence=0.5)) == told(cause("C", posterior=0.01)) == told(cause("C", "bad joint")) == []
    assert told(*(cause(x) for x in "CDEFG")) == ["The observations do not show where it was: “C”, “D”, “E” and 2 more fit as well."]


def test_what_no_cause_explains_and_what_contradicts():
    said = verdict.verdict_on_cause(found(A, unexplained=("x",), against=("x", "y")))
    assert said[2].startswith("Not explained by any cause considered: x. Check the reading") and said[3] == "Contradicts the leading cause: y."
    none = verdict.verdict_on_cause(found(cause("N", "not listed", posterior=0.51), A, unexplained=("x",)))
    assert none[0].startswith("Not explained by any cause considered: all of them") and none[1] == "None of them gives: x." and none[2] == (
        "Of the causes considered, “A” is the most probable.")
    # arithmetic: of half or less the others together have as much
    less = verdict.verdict_on_cause(found(cause("N", "not listed", posterior=0.35), A))
    assert less[0].startswith("Not explained by any cause considered: each of them is less probable")
    assert len(verdict.verdict_on_cause(found(cause("N", "not listed")))) == 2


# Rows

def test_rows_of_causes():
    rivals = [cause("A", prior=0.5, posterior=0.9, against=1.0), cause("B", against=1.9), cause("C", against=2.0), *(cause(f"x{n}", posterior=0.001, prior=0.01) for n in range(11))]
    made = rows.rival_rows(found(*rivals))
    assert len(made) == 13 and made[0] == ("A", "50 %", "90 %", "1", "fits best") and made[1][3:] == ("1.9", "no support either way")
    assert made[2][3:] == ("2.0", support(2.0).removesuffix(" support")) and made[-1] == ("others (2)", "2 %", "0.2 %", "–", "–")
    assert len(rows.rival_rows(found(*rivals[:12]))) == 12
    kinds = [SimpleNamespace(words=w, prior=0.5, posterior=0.5, ratio=r, support=s) for w, r, s in (("a", 20.0, SCALE[2]), ("b", 0.05, SCALE[2]), ("c", 1.0, SCALE[0]))]
    assert [k[3:] for k in rows.kind_rows(SimpleNamespace(kinds=kinds))] == [("20", SCALE[2]), ("1/20", f"{SCALE[2]} against it"), ("1", "no support either way")]


def test_how_an_observation_fits():
    fit = lambda doubt, **more: rows.fit_words(Fit("x", *(more.get(k) for k in ("low", "middle", "high", "likely")), doubt, more.get("second", "")))
    assert [fit(x) for x in (0.1, 0.11, 0.5, 0.51)] == ["fits", "fits poorly", "fits poorly", "does not fit"]
    assert fit(0.0, low=200.4, middle=210.0, high=220.0) == "200 to 220 V: fits" and fit(0.0, low=1.0, middle=2.0, high=3.0, second="PE") == "1 to 3 V to PE: fits"
    assert fit(0.0, likely=0.25) == "probability 25 %: fits"
    three = [cause(x, fits=[Fit("r", 1.0, 2.0, 3.0, None, 0.0), Fit("s", None, None, None, 0.5, 0.6)]) for x in "ABCD"]
    assert rows.item_rows(SimpleNamespace(rivals=three, observations=("r", "s"))) == (
        ("A", "B", "C"), (("r", *["1 to 3 V: fits"] * 3), ("s", *["probability 50 %: does not fit"] * 3)))


def test_unknowns_before_and_after():
    made = SimpleNamespace(unknowns=[SimpleNamespace(name="power of a", unit="W", before=(10.0, 20.0, 30.0), after=(12.0, 20.0, 25.0)),
                                     SimpleNamespace(name="joint", unit="ohm", before=(1.0, 2.0, 3.0), after=(1.5, 2.0, 2.5)),
                                     SimpleNamespace(name="b on", unit="", before=(0.5,), after=(0.9995,))])
    assert rows.known_rows(made) == (("power of a", "10.0 to 30.0 W", "12.0 to 25.0 W"), ("joint", "1.00 to 3.00 Ω", "1.50 to 2.50 Ω"), ("b on", "on: 50 %", "on: > 99.9 %"))
    assert rows.voltage_rows(SimpleNamespace(voltages=[("house", "L1", 1.4, 2.0, 3.6)])) == (("L1", "house", "1", "2", "4"),)


def test_readings_to_take_next():
    reading = lambda bits: SimpleNamespace(between=("L1", "N"), point="house", instrument="voltmeter", strength=bits,
                                           expected=[("A", 200.0, 210.0, 220.0), ("B", None, None, None), *[("C", 1.0, 2.0, 3.0)] * 3])
    (told, safe) = rows.next_words(SimpleNamespace(next_readings=[reading(0.51)], rivals=[A]))
    assert told == ("L1-N at house, on the circuit as it stands, by a voltmeter; calculated: 200 to 220 V (A); floating (B); 1 to 3 V (C); 1 to 3 V (C). This reading would "
                    "tell the two leading causes well apart.") and safe == rows.SAFE_WAY
    for bits in (0.5, 0.2):
        assert rows.next_words(SimpleNamespace(next_readings=[reading(bits)], rivals=[A]))[0].endswith("1 to 3 V (C).")
    assert rows.next_words(SimpleNamespace(next_readings=[reading(0.19)], rivals=[A]))[0].endswith("(C). This reading alone would hardly tell the two leading causes apart.")
    none = lambda posterior: rows.next_words(SimpleNamespace(next_readings=[], rivals=[cause("A", posterior=posterior)]))
    assert none(0.971)[0].startswith("One cause leads so far") and none(0.97) == ("No single reading at a point would distinguish the two leading causes.",)


def test_steps_go_to_the_cables_of_the_leading_causes():
    rivals = [cause("A", at="house"), cause("B", at="shed", posterior=0.011), cause("C", at="barn", posterior=0.01), cause("D", at="mill")]
    told = rows.next_steps(SimpleNamespace(rivals=rivals))
    assert len(told) == 3 and "of the cable to house and of that to shed," in told[1] and "barn" not in told[1] and "mill" not in told[1]
    assert "continuity of every conductor, resistance" in rows.steps_in_order([])[1]


def test_priors_and_what_each_observation_does():
    kinds = [SimpleNamespace(kind="n", words="open neutral"), SimpleNamespace(kind="j", words="joint")]
    said = rows.prior_words(SimpleNamespace(level_priors=("j", 0.6), kinds=kinds, turns_at=30.0))
    assert said[0].startswith("With equal priors for all kinds of cause, “joint” leads, with a posterior probability of 60 %") and "about 30 times higher" in said[1]
    assert len(rows.prior_words(SimpleNamespace(level_priors=("j", 0.6), kinds=kinds, turns_at=inf))) == 1 == len(
        rows.prior_words(SimpleNamespace(level_priors=("n", 0.6), kinds=kinds[:1], turns_at=3.0)))
    enough = data.load("evidence")["enough"]["value"]
    row = lambda effective: SimpleNamespace(words="r", first="n", posterior=0.5, was=0.9, effective=effective)
    told = lambda effective, samples: rows.left_out_rows(SimpleNamespace(kinds=kinds, samples=samples, left_out=[row(effective)]))[0][1:]
    assert told(enough, 1e6) == ("open neutral", "50 %", "90 %") and told(enough - 1, 1e6) == ("too few samples to say", "–", "–")
    assert told(4, 8) == ("open neutral", "50 %", "90 %") and told(3, 8)[0] == "too few samples to say"  # half of the samples are enough


def test_voltages_given_everything():
    asked = [SimpleNamespace(cause="", lowest=(1.0, 2.0, 3.0), highest=(300.0, 310.0, 320.0), metalwork=(5.0, 6.0, 7.4), phases=[("L1", (1.0, 2.0, 3.0), (4.0, 5.0, 6.0))]),
             SimpleNamespace(cause="A", lowest=(1.0, 2.0, 3.0), highest=(1.0, 2.0, 3.0), metalwork=None, phases=[])]
    made = SimpleNamespace(asked=asked)
    assert rows.asked_rows(made) == (("all causes together", "2 (1 to 3)", "310 (300 to 320)", "6 (5 to 7)"), ("A", "2 (1 to 3)", "2 (1 to 3)", "–"))
    case = parse_case('title = "t"\nsupply = { earthing = "TN-S" }\n[[load]]\nname = "A"\nkind = "resistive"\nconnect = "L1-N"\npower = 100\n')
    assert rows.asked_words(case, made).endswith(
        "highest line-to-neutral voltage 310 (300 to 320) V, lowest 2 (1 to 3) V (5 to 95 %). Exposed metalwork: up to 7 V to earth.")
    unmeasured = parse_case('title = "t"\nsupply = { earthing = "TN-C-S" }\n[[load]]\nname = "A"\nkind = "resistive"\nconnect = "L1-N"\npower = 100\n')
    assert rows.asked_words(unmeasured, made).endswith("Exposed metalwork: up to 7 V to earth, depending on earth electrodes that nobody measured.")
    asked[0].metalwork = (0.0, 0.0, 0.1)
    assert rows.asked_words(case, made).endswith("Exposed metalwork: 0 V to earth, provided the earthing is sound, which has not been verified.")
    asked[0].metalwork = (0.0, 2.0, inf)
    assert rows.asked_words(case, made).endswith("no defined potential: it can then take any voltage up to that of a line.")
    assert rows.asked_rows(made)[0][3] == "2 (0 to not defined)"
    asked[0].metalwork = (inf, inf, inf)
    assert rows.asked_rows(made)[0][3] == "not defined"
    assert rows.phases_asked_rows(made) == (("all causes together", "L1", "2 (1 to 3)", "5 (4 to 6)"),) and rows.asked_words(case, SimpleNamespace(asked=[])) == ""


def test_how_it_was_computed():
    base = {"rivals": [cause("A"), cause("B", posterior=0.01)], "samples": 512, "seed": 3, "singly": (), "runs_tried": 0, "looked": 0, "unsolved": 0.001}
    told = lambda **more: rows.method_words(SimpleNamespace(**base | more))
    assert len(told()) == 1 and told()[0].startswith("2 possible causes, 512 samples per step, seed 3; the leading causes rest on at least 100 effective samples.")
    few = [cause("A"), Weighed("x", "B", "", 0.1, 1.0, 0.0, inf, 0.5, 0.0, 1.0)]
    assert "at least 100 effective" in told(rivals=few)[0] and "at least all effective" in told(rivals=few[1:])[0]
    unlike = [Weighed("x", "B", "", 0.1, 1.0, 0.0, samples, share, 0.0, 1.0) for samples, share in ((50.0, 0.0101), (20.0, 0.0099))]
    assert "at least 50 effective" in told(rivals=unlike)[0]  # only those above a hundredth count
    assert len(told(singly=("TV",), runs_tried=9, looked=4, unsolved=0.002)) == 5


# Places

def test_where_a_place_stands():
    seen, unseen = SimpleNamespace(observed=True), SimpleNamespace(observed=False)
    outcome = lambda ratio: SimpleNamespace(ratio=ratio, support=0.5)
    assert where_text.standing(unseen, outcome(1.0)) == "" and where_text.standing(seen, outcome(1.0)) == "50 % (fits best)  "
    assert where_text.standing(seen, outcome(1.5)) == "50 % (LR 1.5)  "


def test_names_of_places_are_few():
    assert where_text._places(["a", "b"], 2) == "(everywhere)" and where_text._places(["a"], 1) == "(a)" and where_text._places(list("abc"), 5) == "(a, b, c)"
    assert where_text._places(list("abcde"), 9) == "(a, b, c and 2 more)"


def test_what_a_place_would_do():
    result = handmade.star([100.0, 200.0, 300.0])
    outcome = SimpleNamespace(solution=result.after.reached, place=SimpleNamespace(kind="open neutral"), joint_heat=0.0, asked=None)
    said = where_text.consequence(result.case, outcome)  # 289, 239 and 176 V; metalwork at 80 V with the neutral
    assert said == "L1 above limits, L3 below limits, metalwork live (intake)"
    several = result.case.__class__(**{**vars(result.case), "points": (Point("joint", "joint"), *result.case.points)})
    assert where_text.consequence(several, outcome) == said  # a joint is left aside
    calm = SimpleNamespace(**{**vars(outcome), "solution": result.before.reached})
    assert where_text.consequence(result.case, calm) == "voltages within limits everywhere"
    hot = SimpleNamespace(**{**vars(calm), "joint_heat": 10.0})
    assert where_text.consequence(result.case, hot).endswith("; the joint overheats: about 10 W, more than the 10 W that it can dissipate; fire risk")
    hidden = lambda **more: where_text.consequence(result.case, SimpleNamespace(**{**vars(outcome), "solution": None} | more))
    assert hidden() == "what it does depends on what is not known"
    assert hidden(place=SimpleNamespace(kind="not listed")).startswith("what it would do is not known")
    assert hidden(asked=SimpleNamespace(lowest=(1.0, 2.0, 3.0), highest=(300.0, 310.0, 320.0))) == "line to neutral 2 to 310 V"
    assert hidden(asked=SimpleNamespace(lowest=(228.0, 229.1, 230.0), highest=(228.0, 229.4, 230.0))) == "line to neutral about 229 V"


def test_the_reading_that_tells_places_apart():
    reading = SimpleNamespace(between=("L1", "N"), point="house", instrument="voltmeter", expected=[("A", 0.0, 210.4, 0.0), ("B", 0.0, None, 0.0), ("C", 0.0, 1.0, 0.0)], strength=0.4)
    first = lambda *words: tuple(SimpleNamespace(place=SimpleNamespace(words=w)) for w in words)
    shown = "L1-N at house, as it stands, by a voltmeter. Calculated: about 210 V (A); floating (B)."
    told = where_text.reading_to_take(SimpleNamespace(next_reading=reading, outcomes=first("A", "B", "C")), 2)
    assert told.endswith(shown) and "distinguish the first two: " in told
    # what something not listed would show is not known: the reading is for the next one
    told = where_text.reading_to_take(SimpleNamespace(next_reading=reading, outcomes=first("A", "not listed", "B")), 2)
    assert told.endswith(shown) and "distinguish the first two of which it can be calculated: " in told
