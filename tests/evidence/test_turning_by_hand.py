"""What would turn a comparison, worked out by hand from few samples; and a comparison in which a cause has no evidence at all."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from lostneutral import parse_case
from lostneutral.evidence import deduce, turning
from lostneutral.evidence.turning import LEAST, _half, _with_odds

SLIP = 0.05


def part(values, likely, other=0.0, share=None):
    rows = len(values)
    likely = np.asarray(likely, float)
    made = SimpleNamespace(states=object(), values=np.array(values, float)[:, None], genuine=likely[:, None], other=np.full((rows, 1), other),
                           share=np.full(rows, 1 / rows) if share is None else np.asarray(share))
    made.evidence = float(made.share @ (made.genuine + made.other).prod(axis=1))
    return made


def test_half_of_a_range_has_its_own_evidence():
    one = part([0.1, 0.2, 0.7, 0.9], [1.0, 3.0, 5.0, 7.0], 0.5, [0.1, 0.3, 0.2, 0.4])
    # arithmetic: the mean of genuine and other, by the shares of the rows inside
    lower, upper = (0.1 * 1.5 + 0.3 * 3.5) / 0.4, (0.2 * 5.5 + 0.4 * 7.5) / 0.6
    assert _half(one, 0, True) == (pytest.approx(lower), pytest.approx((0.15 + 1.05) ** 2 / (0.15**2 + 1.05**2)))
    assert _half(one, 0, False) == (pytest.approx(upper), pytest.approx((1.1 + 3.0) ** 2 / (1.1**2 + 3.0**2)))
    assert _half(part([0.1], [1.0]), 0, False) == (0.0, 0.0)
    assert _half(SimpleNamespace(states=None, evidence=0.3), 0, True) == (0.3, np.inf)


@pytest.mark.parametrize("factor", [0.25, 4.0])
@pytest.mark.parametrize("reading", [True, False])
def test_odds_of_a_slip_are_multiplied(factor, reading):
    judge = SimpleNamespace(observations=[SimpleNamespace(is_reading=reading)], table={"slip": {"value": SLIP}}, trust=lambda o: 0.8)
    wrong = SLIP if reading else 0.2
    density, anything = np.array([0.02, 0.004]), 0.001
    one = part([0.2, 0.6], (1 - wrong) * density, wrong * anything)
    odds = factor * wrong / (1 - wrong)
    now = odds / (1 + odds)
    # independent: the likelihood put together anew, with the other chance of a slip
    assert _with_odds(judge, one, np.array([True]), factor) == pytest.approx(float(np.mean((1 - now) * density + now * anything)))
    assert _with_odds(judge, one, np.array([False]), factor) == pytest.approx(one.evidence)


@pytest.mark.parametrize("rows, turned", [(2 * LEAST, True), (2 * LEAST - 4, False)])
def test_a_half_that_turns_the_answer_counts_if_it_rests_on_enough(rows, turned, monkeypatch):
    monkeypatch.setattr(turning, "_of_words_and_laws", lambda *_: ())
    low = np.arange(rows) % 2 == 0
    first = part(np.where(low, 0.2, 0.8), np.where(low, 10.0, 1.0))
    second = part(np.where(low, 0.2, 0.8), np.full(rows, 4.0))
    causes = [SimpleNamespace(prior=0.5, words=w) for w in ("first", "second")]
    world = SimpleNamespace(causes=causes, columns=[SimpleNamespace(name="power of the heater"), SimpleNamespace(name="own")])
    judge = SimpleNamespace(observations=[SimpleNamespace(is_reading=True)], table={"slip": {"value": 1e-9}}, trust=lambda o: 1.0)
    found = [(t.assumption, t.setting, t.leads) for t in turning.turnings(world, judge, (first, second), None)]
    assert found == ([("power of the heater", "in the upper half of its range", "second")] if turned else [])


@pytest.mark.parametrize(("evidence", "turned"), [(0.265, True), (0.262, False)])
def test_odds_of_slips_turn_the_answer_where_another_cause_is_clearly_ahead(evidence, turned, monkeypatch):
    # by hand: priors of 0.2 and 0.8, evidences of 1 and 0.1; the second leads from 0.25 on, and by more than a twentieth from 0.2625 on
    monkeypatch.setattr(turning, "_of_words_and_laws", lambda *_: ())
    monkeypatch.setattr(turning, "_with_odds", lambda judge, part, which, factor: evidence if factor == 4.0 and part is parts[1] and which.tolist() == [True, False] else part.evidence)
    parts = (SimpleNamespace(evidence=1.0, states=None), SimpleNamespace(evidence=0.1, states=None))
    world = SimpleNamespace(causes=[SimpleNamespace(prior=p, words=w) for p, w in ((0.2, "first"), (0.8, "second"))], columns=[SimpleNamespace(name="own")])
    judge = SimpleNamespace(observations=[SimpleNamespace(is_reading=True), SimpleNamespace(is_reading=False)])
    found = [(t.assumption, t.setting, t.leads) for t in turning.turnings(world, judge, parts, None)]
    assert found == ([("erroneous reading", "4 times as likely", "second")] if turned else [])


def test_what_leads_leads_by_evidence_and_prior_together(monkeypatch):
    # by hand: priors of 0.2 and 0.8, evidences of 1 and 0.3: the second leads by 0.24 to 0.2, until its evidence is 0.2
    monkeypatch.setattr(turning, "_of_words_and_laws", lambda *_: ())
    parts = (SimpleNamespace(evidence=1.0, states=None), SimpleNamespace(evidence=0.3, states=None))
    monkeypatch.setattr(turning, "_with_odds", lambda judge, part, which, factor: 0.2 if factor == 4.0 and part is parts[1] else part.evidence)
    world = SimpleNamespace(causes=[SimpleNamespace(prior=p, words=w) for p, w in ((0.2, "first"), (0.8, "second"))], columns=[SimpleNamespace(name="own")])
    found = turning.turnings(world, SimpleNamespace(observations=[SimpleNamespace(is_reading=True)]), parts, None)
    assert [(t.assumption, t.setting, t.leads) for t in found] == [("erroneous reading", "4 times as likely", "first")]


def test_words_and_laws_are_varied_by_what_they_do_to_likelihoods():
    judge = SimpleNamespace(observations=[SimpleNamespace(load="a", seen="failed", is_reading=False)])
    lost = [SimpleNamespace(states=None, evidence=1.0)]
    assert list(turning._of_words_and_laws(None, judge, lost, np.array([1.0]), None)) == []  # nothing was sampled
    found = SimpleNamespace(sample=np.array([0, 1, 1]), weight=np.array([1.0, 0.5, 0.5]))
    told = SimpleNamespace(likelihoods=lambda volts, states: (np.array([[0.2, 0.5], [0.4, 0.5], [0.8, 0.25]]), np.full((3, 2), 0.1)))
    # arithmetic: of a sample the mean over its settled states, of each the product over what was observed
    assert turning._likelihood(told, None, None, found, 3) == pytest.approx([0.3 * 0.6, 0.5 * (0.5 * 0.6 + 0.9 * 0.35), 0.0])


def test_a_cause_without_any_evidence_is_never_the_first(monkeypatch):
    text = ('title = "t"\nsupply = {}\n[[load]]\nname = "a"\nkind = "resistive"\nconnect = "L1-N"\npower = 100\n[[load]]\nname = "b"\nkind = "resistive"\n'
            'connect = "L2-N"\npower = 300\n[[observation]]\nbetween = "L1-N"\nvoltage = 299\nuncertainty = 4\n')
    text += "".join(f'[[prior]]\ncause = "{c}"\nweight = 0\n' for c in ("line crossed with neutral", "two faults", "line lost", "line lost as well",
                                                                       "supply neutral open", "high-voltage phase lost", "raised earth", "supply overvoltage"))
    sampled = deduce._sampled

    def without_one(*given):
        parts, looked, complete = sampled(*given)
        least = min(range(len(parts)), key=lambda n: parts[n].evidence if parts[n].states is not None else np.inf)
        parts[least] = replace(parts[least], evidence=0.0)
        return parts, looked, complete

    monkeypatch.setattr(deduce, "_sampled", without_one)
    found = deduce.deduce(parse_case(text), 32)
    assert found.rivals[0].against == 1.0 and found.rivals[0].evidence > 0
    assert [r.against for r in found.rivals if r.evidence == 0.0] == [np.inf]
    against = [found.rivals[0].evidence / r.evidence for r in found.rivals if r.evidence]
    assert [r.against for r in found.rivals if r.evidence] == pytest.approx(against)
