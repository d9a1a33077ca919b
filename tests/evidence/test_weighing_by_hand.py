"""What is made of weighed causes: kinds, shares, fits, what is left out, what is not told apart; each worked out by hand from a few rows."""

from dataclasses import replace
from math import inf, log, sqrt
from statistics import NormalDist
from types import SimpleNamespace

import numpy as np
import pytest

from lostneutral import parse_case
from lostneutral.case.model import Break, Point, Unknown
from lostneutral.case.seen import Spread
from lostneutral.errors import NoSolutionError
from lostneutral.evidence import deduce as deducing
from lostneutral.evidence.deduce import (
    _fit,
    _kinds,
    _known,
    _left_out,
    _needed,
    _one,
    _open,
    _priors,
    _promising,
    _refuse,
    _unexplained,
    samples_for_causes,
    work,
)
from lostneutral.evidence.places import Place
from lostneutral.evidence.pooled import pooled, positions_told, voltages_told
from lostneutral.evidence.rivals import Rival, rivals
from lostneutral.evidence.settled import _apart, _others
from lostneutral.evidence.tempered import Sampled, _Chance, _moved, _next_power, _picked, _Step
from lostneutral.evidence.thinned import _in_series, _middle, _stretches, _summed, narrowed, spread_over
from lostneutral.evidence.thinned import _together as together
from lostneutral.evidence.where import Outcome, Where, _moved_by, _other_positions, _start, _taken, _weighed, at_medians
from lostneutral.evidence.world import States

HEAD = 'title = "t"\nsupply = {}\n'


def load(name, connect="L1-N", power=100.0, kind="resistive", more=""):
    return f'[[load]]\nname = "{name}"\nkind = "{kind}"\nconnect = "{connect}"\npower = {power}\n{more}'


def read(volts=300.0, sigma=4.0, more=""):
    return f'[[observation]]\nbetween = "L1-N"\nvoltage = {volts}\nuncertainty = {sigma}\n{more}'


CASE = parse_case(HEAD + load("A") + load("B", "L2-N") + read() + '[[observation]]\nload = "A"\nseen = "brighter"\n'
                  '[[unknown]]\nload = "A"\non = 0.4\n[[unknown]]\nload = "B"\npower = { low = 100, high = 300 }\n')


def rival(kind, prior, words="", **more):
    return Rival(kind, words or kind, prior, **more)


# Kinds and priors

def test_a_kind_is_held_against_all_others_by_its_odds():
    found = [rival("sound", 0.2), rival("open neutral", 0.1), rival("open neutral", 0.3), rival("bad joint", 0.4)]
    first, second, third = _kinds(CASE, found, np.array([0.02, 0.5, 0.4, 0.08]))
    # closed form: ratio = odds afterwards over odds before
    assert (first.kind, first.prior, first.posterior) == ("open neutral", pytest.approx(0.4), pytest.approx(0.9))
    assert first.ratio == pytest.approx((0.9 / 0.1) / (0.4 / 0.6)) and first.support == "moderate support"
    assert second.ratio == pytest.approx((0.08 / 0.92) / (0.4 / 0.6)) and second.support == "weak support"  # 7.7 against it
    assert third.ratio == pytest.approx((0.02 / 0.98) / (0.2 / 0.8)) and third.support == "moderate support"  # 12 against it
    (only,) = _kinds(CASE, [rival("sound", 1.0)], np.array([1.0]))
    assert only.ratio == 1.0
    level, turns = _priors(found, np.array([2.0, 1.0, 8.0, 1.0]), (first, second, third))
    assert level == ("open neutral", pytest.approx(4.5 / 7.5)) and turns == pytest.approx(0.9 / 0.08)
    assert _priors(found[:1], np.array([2.0]), (first,))[1] == inf


def test_an_answer_without_an_observation_rests_on_the_fewest_samples_of_those_that_matter():
    given = [{0: (4.0, 100.0), 1: (1.0, 90.0)}, {0: (1.0, 30.0), 1: (9.0, 80.0)}, {0: (0.01, 2.0), 1: (0.3, 1.5)}]
    parts = [SimpleNamespace(without=own.get) for own in given]
    found = [rival("sound", 0.5), rival("open neutral", 0.3), rival("bad joint", 0.2)]
    one, two = _left_out(CASE, found, parts, np.array([0.6, 0.3, 0.1]))
    whole = 0.5 * 4 + 0.3 * 1 + 0.2 * 0.01  # arithmetic
    assert (one.first, one.posterior, one.was, one.effective) == ("sound", pytest.approx(2 / whole), 0.6, 30.0)
    whole = 0.5 * 1 + 0.3 * 9 + 0.2 * 0.3  # here the third has 1.8 %
    assert (two.first, two.posterior, two.was, two.effective) == ("open neutral", pytest.approx(2.7 / whole), 0.3, 1.5)


# One cause

def rows(genuine, other, share, volts, weight=None, on=None):
    weight = share * (genuine + other).prod(axis=1) if weight is None else weight
    return SimpleNamespace(genuine=genuine, other=other, share=share, weight=weight / weight.sum(), volts=volts, states=SimpleNamespace(on=on), evidence=2.0, error=0.1,
                           effective=60.0)


def test_how_an_observation_fits_is_told_by_the_others_alone():
    judge = SimpleNamespace(case=CASE, trust=lambda o: 0.8, lead=lambda *_: (0, ""))
    genuine, other = np.array([[0.3, 0.5], [0.1, 0.7], [0.6, 0.1]]), np.array([[0.1, 0.1], [0.3, 0.1], [0.2, 0.1]])
    part = rows(genuine, other, np.array([0.2, 0.3, 0.5]), np.array([[[300.0]], [[310.0]], [[np.nan]]]))
    weight = np.array([0.2 * 0.4 * 0.6, 0.3 * 0.4 * 0.8, 0.5 * 0.8 * 0.2])
    weight /= weight.sum()
    reading, seen = (_fit(judge, part, k, o) for k, o in enumerate(CASE.observations))
    assert reading.doubtful == pytest.approx(weight @ [0.1 / 0.4, 0.3 / 0.4, 0.2 / 0.8])
    # without the reading the rows weigh 0.12, 0.24 and 0.10: of those with a voltage half lie at or below 310 V, 5 % at 300 V
    assert (reading.low, reading.middle, reading.high, reading.likely) == (300.0, 310.0, 310.0, None)
    alone = np.array([0.2 * 0.4, 0.3 * 0.4, 0.5 * 0.8])
    assert seen.likely == pytest.approx(alone @ [0.5 / 0.8, 0.7 / 0.8, 0.1 / 0.8] / alone.sum()) and seen.low is None
    for there, middle in ((0.48, None), (0.52, 300.0)):  # more than half without any voltage
        alike = rows(np.full((3, 2), 0.5), np.full((3, 2), 0.5), np.array([there, 0.0, 1 - there]), part.volts)
        assert _fit(judge, alike, 0, CASE.observations[0]).middle == middle
    lost = rows(np.zeros((3, 2)), np.zeros((3, 2)), np.array([0.2, 0.3, 0.5]), np.array([[[300.0]], [[310.0]], [[320.0]]]), np.ones(3))
    assert _fit(judge, lost, 0, CASE.observations[0]).middle == 310.0  # by what was likely before


def test_the_error_of_a_share_is_that_of_all_evidences(monkeypatch):
    monkeypatch.setattr(deducing, "_fit", lambda *_: None)
    parts = [SimpleNamespace(evidence=e, error=s, effective=9.0, states=object()) for e, s in ((4.0, 0.4), (2.0, 0.6), (0.0, 0.0))]
    found = [rival("sound", 0.25), rival("open neutral", 0.5), rival("bad joint", 0.25)]
    prior = np.array([r.prior for r in found])
    z = np.array([p.evidence for p in parts])
    share = z * prior / (z @ prior)
    judge = SimpleNamespace(case=CASE)
    made = [_one(judge, found[n], parts[n], share, n, 4.0, parts) for n in range(3)]
    # independent: the shares worked out anew with each evidence off by its error, one after the other
    for n in range(3):
        off = []
        for k in range(3):
            changed = z.copy()
            changed[k] += 1e-6 * parts[k].error
            off.append(((changed * prior / (changed @ prior))[n] - share[n]) / 1e-6)
        assert made[n].posterior_error == pytest.approx(sqrt(sum(x**2 for x in off)), rel=1e-4)
    assert [m.against for m in made] == [1.0, 2.0, inf] and [m.posterior for m in made] == pytest.approx(share)
    parts[0].error = 4000.0  # no share is off by more than to the farther end
    assert [_one(judge, found[n], parts[n], share, n, 4.0, parts).posterior_error for n in range(2)] == pytest.approx([0.5, 0.5])
    assert _one(judge, found[1], parts[1], np.array([0.8, 0.2, 0.0]), 1, 4.0, parts).posterior_error == pytest.approx(0.8)


def test_what_no_cause_explains():
    fit = lambda words, doubtful: SimpleNamespace(words=words, doubtful=doubtful)
    cause = lambda kind, evidence, *doubtful: SimpleNamespace(kind=kind, evidence=evidence, fits=[fit(f"o{n}", d) for n, d in enumerate(doubtful)])
    found = [cause("sound", 1.0, 0.9, 0.4, 0.51), cause("open neutral", 0.1, 0.6, 0.9, 0.52), cause("bad joint", 0.0, 0.0, 0.0, 0.0),
             cause("not listed", 9.0, 0.0, 0.0, 0.0)]
    assert _unexplained(found) == ("o0", "o2")  # of causes without evidence, and of the one not listed, nothing is asked


# Which causes are looked at closely

def test_a_first_look_keeps_the_best_and_those_near_them(monkeypatch):
    monkeypatch.setattr(deducing, "KEPT", 3)
    looks = lambda logs: {(n, 0): (SimpleNamespace(guide=np.array([x - 5.0, x])),) for n, x in enumerate(logs)}
    alike = [rival("open neutral", 0.1) for _ in range(9)]
    near = log(1e-3)
    kept = lambda logs, found=alike: _promising(found, looks(logs), range(len(logs)))
    assert kept([0, -50, -2, near - 1, -60, -70, -80, -90, -99]) == [0, 2, 3]  # as many as are kept at least
    assert kept([near + 1, -50, 0, near - 1, -1, near + 2, -2, -3, -99]) == [0, 2, 4, 5, 6, 7]  # six that are near the best
    assert kept([-1, -2, 0, -3, -4, -5, -6, -3.5, -4.5]) == [0, 1, 2, 3, 4, 7]  # and no more than twice as many
    favoured = [rival("open neutral", 0.5 if n == 8 else 0.001) for n in range(9)]
    assert 8 in kept([0, 0, 0, 0, 0, 0, 0, -1, -4], favoured)  # by what was likely before as well


def test_a_cause_that_one_observation_alone_speaks_against_is_open():
    judge = SimpleNamespace(observations=(1, 2))
    part = lambda whole, *without, most=None: SimpleNamespace(evidence=whole, at_most=whole if most is None else most, states=object(),
                                                              without=lambda k: (without[k], 0.0))
    parts = [part(1.0, 1.0, 1.0), part(1e-9, 1.0, 1e-9), part(1e-9, 1e-9, 1e-9), part(1.2e-3, 0.0, 0.0), part(0.8e-3, 0.0, 0.0),
             part(1e-9, 1e-9, 1e-9, most=0.1)]  # the last may have been missed
    parts.append(SimpleNamespace(evidence=1e9, at_most=1e9, states=None, without=lambda k: (1e9, inf)))  # not listed: no reason to look less closely
    found = [rival("sound", 0.1)] * 6 + [rival("not listed", 0.1)]
    assert _open(judge, found, parts, range(6)) == [0, 1, 3, 5]


def test_causes_that_rest_on_too_few_samples_or_on_runs_that_differ_are_run_again(monkeypatch):
    # documented: up to twice fifty effective samples, or from a standard error of half the evidence; twice, with four and sixteen times the samples
    judge = SimpleNamespace(observations=())
    made = lambda effective, error: SimpleNamespace(evidence=1.0, at_most=1.0, error=error, effective=effective, states=object())
    asked = []
    monkeypatch.setattr(deducing, "runs", lambda world, judge, size, seed, wanted, maps: asked.append((size, wanted)) or dict.fromkeys(wanted, "steps"))
    monkeypatch.setattr(deducing, "weighed_runs", lambda runs: made(len(runs) * 10.0, 0.4))
    parts = [made(99.0, 0.1), made(101.0, 0.1), made(500.0, 0.51), made(500.0, 0.49)]
    world = SimpleNamespace(causes=[rival("open neutral", 0.25) for _ in parts])
    deducing._more_of_the_poor(world, judge, 512, 1, None, parts)
    assert [(size, sorted({n for n, _ in wanted}), sorted({k for _, k in wanted})) for size, wanted in asked] == [
        (64 * 4, [0, 2], list(range(9, 17))), (64 * 16, [0, 2], list(range(17, 25)))]
    assert [part.effective for part in parts] == [80.0, 101.0, 80.0, 500.0]
    asked.clear()
    deducing._more_of_the_poor(world, judge, 64, 1, None, parts[1:2] * 4)
    assert not asked


@pytest.mark.parametrize(("size", "needed"), [(64, 32), (100, 50), (4096, 50)])
def test_too_few_samples_say_nothing(size, needed):
    # documented: fifty, or half of what was asked for
    assert _needed(size) == needed
    parts = [SimpleNamespace(effective=needed - 1.0), SimpleNamespace(effective=needed - 2.0), SimpleNamespace(effective=1.0)]
    found = [rival("sound", 0.1, "one"), rival("sound", 0.1, "two"), rival("sound", 0.1, "three")]
    with pytest.raises(NoSolutionError, match="“two”"):
        _refuse(found, parts, np.array([0.5, 0.4, 0.009]), size)
    _refuse(found, [SimpleNamespace(effective=float(needed))] * 2 + parts[2:], np.array([0.5, 0.4, 0.009]), size)


def test_how_many_samples_and_how_much_work():
    electronic = parse_case(HEAD + load("E", kind="electronic", more='front_end = "corrected"\n') + read())
    many = parse_case(HEAD + "".join(load(f"l{n}") for n in range(21)) + read())
    twenty = parse_case(HEAD + "".join(load(f"l{n}") for n in range(20)) + read())
    assert [samples_for_causes(c) for c in (CASE, electronic, many, twenty)] == [512, 256, 256, 512] and samples_for_causes(many, 9) == 9
    assert work(CASE) == 8 * len(rivals(CASE))


def test_causes_without_a_settled_state_are_not_weighed(monkeypatch):
    monkeypatch.setattr(deducing, "_sampled", lambda world, *_: ([SimpleNamespace(evidence=0.0) for _ in world.causes], 0, True))
    with pytest.raises(NoSolutionError, match="No sample of any cause"):
        deducing.deduce(CASE)


# All causes together

def state(volts, on, solved=(True, True)):
    node = {("intake", "L1"): 0, ("intake", "L2"): 1, ("intake", "L3"): 2, ("intake", "N"): 3}
    v = np.array([[v, 230.0, 230.0, 0.0] for v in volts], complex)
    return SimpleNamespace(world=SimpleNamespace(net=SimpleNamespace(node=node)), v=v, on=np.array(on), solved=np.array(solved))


def test_rows_of_all_causes_weigh_by_their_cause():
    one = SimpleNamespace(states=state((300.0, 310.0), [[True, True], [False, True]]), weight=np.array([0.25, 0.75]))
    two = SimpleNamespace(states=state((230.0, 240.0), [[True, True], [True, True]], (True, False)), weight=np.array([0.5, 0.5]))
    none = SimpleNamespace(states=None, weight=np.zeros(0))
    made = pooled([one, two, none], np.array([0.5, 0.3, 0.2]))
    assert made.weight == pytest.approx(np.array([0.125, 0.375, 0.15, 0.15]) / 0.8)
    assert made.nodes["intake", "L1"][:3] == pytest.approx([300.0, 310.0, 230.0]) and np.isnan(made.nodes["intake", "L1"][3])
    assert voltages_told(CASE, made)[0] == ("intake", "L1", 230.0, 310.0, 310.0)
    # A was on in the rows of 0.125, 0.15 and 0.15; B, whose switch is known, is not asked for
    assert positions_told(CASE, made) == ((("A", True),), pytest.approx(0.425 / 0.8))
    assert positions_told(parse_case(HEAD + load("A") + read()), made) == ((), 1.0)
    lone = pooled([two, none], np.array([1e-9, 1.0]))  # what is not listed has no rows: the best of the rest stands for all
    assert lone.weight == pytest.approx([0.5, 0.5])
    assert voltages_told(CASE, pooled([SimpleNamespace(states=state((230.0, 240.0), [[True] * 2] * 2, (False, True)), weight=np.array([0.6, 0.4]))],
                                   np.array([1.0])))[0][2:] == (None, None, None)  # floating in more than half


def test_what_is_known_afterwards_of_what_was_unknown():
    columns = (SimpleNamespace(key="on", name="whether A was on", unknown=CASE.unknowns[0]),
               SimpleNamespace(key="power", name="power of B", unknown=CASE.unknowns[1], spread=CASE.unknowns[1].power), SimpleNamespace(key="own", name="own"))
    joint = rival("bad joint", 0.5, "joint", own=Spread(1.0, 100.0, scale="log"))
    part = lambda values, weight, on: SimpleNamespace(states=SimpleNamespace(on=np.array(on)), values=np.array(values), weight=np.array(weight))
    one = part([[0.1, 0.2, 0.5], [0.9, 0.8, 0.0]], [0.4, 0.6], [[True, True], [False, True]])
    two = part([[0.1, 0.5, 0.25]], [1.0], [[True, True]])
    world = SimpleNamespace(case=CASE, causes=(rival("sound", 0.5), joint), columns=columns)
    switch, power, own = _known(world, (one, two), np.array([0.75, 0.25]))
    assert (switch.name, switch.before, switch.after, switch.unit) == ("A", (0.4,), (pytest.approx(0.75 * 0.4 + 0.25),), "")
    # rows of 140, 260 and 200 W weigh 0.3, 0.45 and 0.25
    assert (power.unit, power.before, power.after) == ("W", pytest.approx((110.0, 200.0, 290.0)), pytest.approx((140.0, 200.0, 260.0)))
    assert own.name == "resistance: joint, if that is the cause" and own.before == pytest.approx((100**0.05, 10.0, 100**0.95)) and own.after == pytest.approx(
        (100**0.25,) * 3)
    assert len(_known(world, (one, two), np.array([0.992, 0.008]))) == 2  # of a joint that plays no part nothing is said


# Steps

def states(sample, weight=None, **more):
    n = len(sample)
    weight = np.ones(n) if weight is None else np.array(weight)
    return States(None, np.array(sample), weight, np.arange(n)[:, None] + 0j, np.zeros((n, 1), bool), np.ones(n, bool), np.zeros((n, 0, 2, 2)), np.zeros((n, 0)), np.zeros(n, int))


def step(sample, genuine, weight=None, other=None):
    genuine = np.array(genuine, float)
    return _Step(np.arange(max(sample) + 1.0)[:, None], states(sample, weight), np.zeros((len(sample), genuine.shape[1], 1)), genuine,
                 np.zeros_like(genuine) if other is None else np.array(other), np.log(genuine.prod(axis=1)))


def test_a_sample_is_as_likely_as_its_settled_states_in_the_mean():
    made = step([0, 1, 1], [[0.2, 0.5], [0.4, 0.5], [0.8, 0.25]], [1.0, 0.5, 0.5], [[0.1, 0.0]] * 3)
    assert made.likelihood == pytest.approx([0.15, 0.5 * 0.25 + 0.5 * 0.225]) and made.size == 2 and made.settled == pytest.approx([1, 1])
    assert made.logs[0] == pytest.approx(np.log([0.15, 0.2375])) and made.logs[1] == pytest.approx(np.log([0.1, 0.2]))
    second = made.part(1, 2, (1.0, 0.0))
    assert (second.size, second.powers, second.states.sample.tolist(), second.values.tolist()) == (1, (1.0, 0.0), [0, 0], [[1.0]])


def test_samples_are_picked_with_all_their_settled_states():
    made = _picked(step([0, 1, 1, 2], [[0.1], [0.2], [0.3], [0.4]], [1, 0.5, 0.5, 1]), np.array([2, 1, 1]))
    assert made.states.sample.tolist() == [0, 1, 1, 2, 2] and made.genuine[:, 0].tolist() == [0.4, 0.2, 0.3, 0.2, 0.3]
    assert made.values[:, 0].tolist() == [2, 1, 1] and made.states.v[:, 0].real.tolist() == [3, 1, 2, 1, 2]


def test_evidence_without_an_observation():
    given = Sampled(0.0, 0.0, None, 0.0, states([0, 0, 1]), None, None, np.array([[0.2, 0.5], [0.4, 0.5], [0.8, 0.25]]), np.full((3, 2), 0.1),
                    np.array([0.25, 0.25, 0.5]), 0.0)
    parts = np.array([0.25 * 0.6 + 0.25 * 0.6, 0.5 * 0.35])  # arithmetic, by sample
    assert given.without(0) == (pytest.approx(parts.sum()), pytest.approx(parts.sum() ** 2 / (parts**2).sum()))
    assert Sampled(0.0, 0.0, None, 0.0, None, None, None, None, None, None, 0.0, (0.3, 0.4)).without(1) == (0.4, inf)


def test_what_evidence_may_be_at_most_counts_three_samples_that_were_missed():
    # the rule of three, of two samples, at the best of their rows: 0.5 · 0.9
    given = Sampled(0.1, 0.0, None, 0.0, states([0, 0, 1]), None, None, np.array([[0.2, 0.5], [0.4, 0.8], [0.3, 0.25]]), np.full((3, 2), 0.1), None, 0.0)
    assert given.at_most == pytest.approx(0.1 + 3 / 2 * 0.5 * 0.9) and replace(given, states=None).at_most == 0.1


def test_first_samples_are_a_latin_hypercube_of_their_run():
    chance = _Chance(1, np.array([0, 1, 0]))
    made = chance.spread_out(16, 5)
    for run in made:  # one in every sixteenth of each unknown
        assert (np.sort((run * 16).astype(int), axis=0) == np.arange(16)[:, None]).all()
    assert (made[0] == made[2]).all() and (made[0] != made[1]).any()  # causes that do the same share alike


def test_moves_are_reflected_and_as_wide_as_the_samples_spread():
    rng, lanes = np.random.default_rng(1), np.arange(2)
    chance = _Chance(1, np.array([0]))
    now = 0.5 + 0.01 * rng.standard_normal((2, 4000, 4))
    moved = _moved(now, np.array([1.0, 0.5]), chance, lanes)
    assert (moved > 0).all() and (moved < 1).all()
    step_ = np.sort(np.abs(moved - now).reshape(2, -1), axis=1)[:, : int(0.9 * 16000)]
    # closed form: 2.4 deviations over the root of the unknowns (source: Roberts, Gelman and Gilks 1997), of 95 in 100; the rest is drawn anew,
    # so that half of the nearest nine tenths are within the normal law's quantile of 0.45 / 0.95 on either side
    for lane, scale in enumerate((1.0, 0.5)):
        assert np.median(step_[lane]) == pytest.approx(scale * 2.4 / 2 * 0.01 * NormalDist().inv_cdf(0.5 + 0.45 / 0.95 / 2), rel=0.03)
    fresh = (np.abs(moved - now) > 0.1).mean()
    assert fresh == pytest.approx(0.05 * 0.8, rel=0.15)  # 0.2 of an unknown a sample, of which 0.8 go farther than a tenth
    edge = _moved(np.full((2, 4000, 4), 0.001) + 0.05 * rng.random((2, 4000, 4)), np.ones(2), chance, lanes)
    assert (edge > 0).all() and np.median(edge) < 0.1  # no heap at the end, and nothing thrown to the other end
    many = 0.5 + 0.01 * rng.standard_normal((2, 2000, 40))
    wide = _moved(many, np.ones(2), chance, lanes)
    # documented: ten of the forty unknowns at a time, on average, by steps for ten; 0.2 drawn anew
    assert (np.abs(wide - many) > 1e-9).mean() == pytest.approx(0.25 + 0.75 * 0.005, abs=0.005)
    near = np.abs(wide - many)[(np.abs(wide - many) > 1e-9) & (np.abs(wide - many) < 0.1)]
    assert np.median(near) == pytest.approx(2.4 / sqrt(10) * 0.01 * NormalDist().inv_cdf(0.75), rel=0.05)


def test_the_next_power_counts_from_the_one_before():
    likely = np.stack([3.0 * np.random.default_rng(2).standard_normal(500)])
    (power,) = _next_power(likely, np.array([0.2]), 0.5)
    weight = np.exp((power - 0.2) * likely[0])
    assert weight.sum() ** 2 / (weight**2).sum() / 500 == pytest.approx(0.5, abs=1e-3) and power > 0.2
    assert _next_power(0.1 * likely, np.array([0.8]), 0.5).tolist() == [1.0]


# Maps of settled states

def test_states_are_apart_by_more_than_a_distance():
    v = np.array([[0.0, 0.0], [0.5, 0.0], [2.0, 0.0], [0.0, 1.5], [2.4, 0.5]])
    assert _apart(v, np.arange(5), 1.0) == [0, 2, 3] and _apart(v, np.array([], int), 1.0) == [] and _apart(v, np.array([4, 2]), 1.0) == [4]
    row = np.array([0, 0, 1, 1, 1])  # those of each row among themselves, the first of each first
    assert sorted(_apart(v, np.arange(5), 1.0, row)) == sorted(_apart(v, np.array([0, 1]), 1.0) + _apart(v, np.array([2, 3, 4]), 1.0))


def test_one_load_after_the_other_is_tried_in_its_other_modes():
    # by hand: two plain loads, one of them off in every row, and one of two ports, which change together
    models = [SimpleNamespace(modes=modes) for modes in (("on", "off"), ("on", "off"), ("runs", "stalls", "trips"), ("runs", "stalls", "trips"))]
    unit = np.array([2, 3])
    reduced = SimpleNamespace(models=models, wired=SimpleNamespace(unit_of={2: unit, 3: unit}), count=np.array([[0, 0, 1, 1], [2, 0, 0, 0]]))
    assert list(_others(reduced, [0, 1, 2, 3], ("on", "on", "runs", "runs"))) == [
        ("off", "on", "runs", "runs"), ("on", "on", "stalls", "stalls"), ("on", "on", "trips", "trips")]


# What `where` takes at its median

SWITCHES = parse_case(HEAD + load("A") + load("B", "L2-N", more="on = false\n") + load("C") + load("D")
                      + '[[unknown]]\nload = "A"\non = 0.51\n[[unknown]]\nload = "B"\npower = { low = 100, high = 900, scale = "log" }\n'
                      '[[unknown]]\none_of = ["C", "D"]\nweights = [1, 2]\nnone = 0.1\n')


def test_unknown_loads_at_their_medians():
    found = {x.name: x for x in at_medians(SWITCHES).loads}
    assert {name: x.on for name, x in found.items()} == {"A": True, "B": False, "C": False, "D": True}
    assert found["B"].parameters["power"] == pytest.approx(300.0)
    assert [_taken(SWITCHES, u) for u in SWITCHES.unknowns] == ["A on", "B 300 W", "D on"]
    even = replace(SWITCHES, unknowns=(Unknown(load="A", on=0.5),))
    assert not at_medians(even).loads[0].on and _taken(even, even.unknowns[0]) == "A off"
    none = parse_case(HEAD + load("C") + load("D") + '[[unknown]]\none_of = ["C", "D"]\nnone = 0.6\n')
    assert [x.on for x in at_medians(none).loads] == [False, False] and _taken(none, none.unknowns[0]) == "none of C, D on"


@pytest.mark.parametrize(("unknown", "key", "others"), [
    (Unknown(load="A", on=0.3), "on", ((0.0, 0.3 / 0.7),)), (Unknown(load="A", on=0.8), "on", ((1.0, 0.2 / 0.8),)), (Unknown(load="A", on=0.5), "on", ((0.0, 1.0),)),
    (Unknown(load="A", on=1.0), "on", ()), (Unknown(load="A", on=0.0), "on", ()), (Unknown(load="A", power=Spread(1, 2)), "power", ()),
    # thirds of 0.9: 0.3 and 0.6, with nothing at the end; the median lies in the second
    (SWITCHES.unknowns[-1], "one_of", ((0.15, 0.5), (0.95, 1 / 6))), (Unknown(one_of=("C", "D")), "one_of", ((0.25, 1.0),))])
def test_other_positions_of_a_switch(unknown, key, others):
    assert _other_positions(SimpleNamespace(unknown=unknown, key=key)) == tuple(pytest.approx(pair) for pair in others)


def test_couplings_are_drawn_where_they_move_a_reading_and_with_each_value_of_a_joint():
    # by hand: with no load on nothing but couplings holds a neutral that is open; 3 kW hold it
    for more, sizes in (("on = false\n", {"sound": 1, "open neutral": 64}), ("", {"sound": 1, "open neutral": 1})):
        case = parse_case(HEAD + load("A", power=3000.0, more=more) + read())
        _, world, _, steps, _ = _weighed(case, rivals(case))
        made = {r.kind: step for r, step in zip(world.causes, steps)}
        assert {kind: made[kind].size for kind in sizes} == sizes
        joint = made["bad joint"].values
        coupled = [n for n, c in enumerate(world.columns) if c.unknown is None and c.law is not None]
        assert joint[:, -1] == pytest.approx((np.arange(64) + 0.5) / 64)
        for n in coupled:  # one in every sixty-fourth of its range
            assert sorted((joint[:, n] * 64).astype(int)) == list(range(64))


def test_states_of_samples_are_held_against_the_nearest():
    # by hand: two states, in another order in the second sample, moved by 0.25 and 0.5 V; then one that the second has not
    assert _moved_by(np.array([[[100.0]], [[300.0]], [[300.5]], [[100.25]]]), np.array([0, 0, 1, 1])) == 0.5
    assert _moved_by(np.array([[[100.0]], [[300.0]], [[100.25]]]), np.array([0, 0, 1])) == 199.75
    assert _moved_by(np.array([[[100.0]], [[np.nan]]]), np.array([0, 1])) == 100.0


def test_heat_of_the_joints_of_a_place():
    place = Place("bad joint", "house", "w", (Break("house", "N", 2.0), Break("house", "L1", inf), Break("house", "L2", 0.5)))
    solution = SimpleNamespace(currents={("house", "N"): 3 + 4j, ("house", "L1"): 100.0, ("house", "L2"): None})
    assert Outcome(place, lambda: (solution, {})).joint_heat == pytest.approx(50.0) and Outcome(place).joint_heat == 0


def test_a_leading_cause_is_named_where_something_was_seen_and_it_is_not_declined():
    one = Outcome(Place("sound", "", "w"))
    assert [Where((one,), observed, None, declined=why).leading for observed, why in ((True, ""), (True, "alike"), (False, ""))] == [one, None, None]


def test_a_cause_s_settled_state_is_looked_for_from_those_of_its_samples():
    node = {("a", "N"): 0, ("b", "N"): 1, ("c", "N"): 2, ("source", "L1"): 3}
    net = SimpleNamespace(node=node, free=3)
    world = SimpleNamespace(net=SimpleNamespace(node={("a", "N"): 1, ("c", "N"): 0, ("source", "L1"): 2, ("d", "N"): 3}))
    # what the sample does not have, and what sources fix, stays
    assert _start(world, net, np.full(4, -1.0), np.arange(8.0, 12.0)).tolist() == [9, -1, 8, -1]


# A long street

def street(count, **powers):
    return SimpleNamespace(points=tuple(Point(f"p{n}", fed_from=f"p{n - 1}" if n else "supply") for n in range(count)))


@pytest.mark.parametrize(("count", "wanted", "step"), [(9, 9, 1), (10, 10, 1), (11, 6, 2), (95, 10, 10)])
def test_a_few_runs_evenly_spread(count, wanted, step):
    made = spread_over(list(range(count)))
    assert len(made) == wanted and made[0] == 0 and {b - a for a, b in zip(made, made[1:])} == {step}


def test_runs_are_looked_at_closely_where_they_fit():
    case, chosen = street(100), tuple(f"p{n}" for n in range(0, 100, 10))
    ratios = dict.fromkeys(chosen, 1000.0) | {"p40": 1.0, "p50": 9.9, "p60": 10.0}
    # documented: within a ratio of ten; from the run before the first that fits to that after the last, and every third of the others
    made = narrowed(case, chosen, ratios)
    assert narrowed(case, chosen, {name: 3 * ratio for name, ratio in ratios.items()}) == made  # to the best of these runs
    assert {"p30", "p40", "p50", "p60"} <= {*made} and {"p0", "p70"} <= {*made} and not {"p10", "p20", "p80", "p90"} & {*made}
    untried = [n for n in range(30, 61) if n % 10]
    assert {f"p{n}" for n in untried[::3]} <= {*made} and len(made) == 6 + 9
    for _ in range(4):  # until none of the stretch is left untried
        made = narrowed(case, made, dict.fromkeys(made, 1000.0) | {"p40": 1.0, "p50": 9.9})
    assert {f"p{n}" for n in range(40, 51)} <= {*made}
    assert narrowed(case, made, dict.fromkeys(made, 1000.0) | {"p40": 1.0, "p50": 9.9}) == made
    close = ("p38", "p39", "p40", "p41", "p42")
    assert narrowed(case, close, {"p38": 99.0, "p39": 99.0, "p40": 1.0, "p41": 99.0, "p42": 99.0}) == close  # every run there was tried
    first = narrowed(case, chosen, dict.fromkeys(chosen, 1000.0) | {"p0": 1.0})
    assert {"p0", "p2", "p10"} <= {*first} and "p12" not in first
    last = narrowed(case, chosen, dict.fromkeys(chosen, 1000.0) | {"p90": 1.0})
    assert {"p80", "p90", "p99"} <= {*last}


@pytest.mark.parametrize(("ratio", "told_apart"), [(2.9, False), (3.1, True), (0.35, False), (0.3, True)])
def test_runs_between_two_that_fit_alike_are_told_apart_from_neither(ratio, told_apart):
    """Documented: within a factor of three; to both sides, where they cease to fit, runs are looked at more closely."""
    case, chosen = street(100), tuple(f"p{n}" for n in range(0, 100, 10))
    made = narrowed(case, chosen, dict.fromkeys(chosen, 1000.0) | {"p40": 1.0, "p50": ratio})
    assert any(f"p{n}" in made for n in range(41, 50)) == told_apart
    assert any(f"p{n}" in made for n in range(31, 40)) and any(f"p{n}" in made for n in range(51, 60))
    whole = *chosen, "p99"
    assert (narrowed(case, whole, dict.fromkeys(whole, 1.0) | {"p50": ratio}) == whole) != told_apart


def test_premises_taken_together_are_in_parallel_in_the_middle_of_their_load():
    case = parse_case(HEAD + "".join(
        f'[[point]]\nname = "h{n}"\nfed_from = "{above}"\nelectrode = {ohms}\ncable = {{ line = [0.3, 0.6], neutral = [0.9, 0] }}\n'
        for n, above, ohms in ((1, "supply", 30), (2, "h1", 60), (3, "h2", 20))) + load("A", more='point = "h1"\n') + load("B", more='point = "h2"\n')
        + load("C", more='point = "h3"\ncount = 2\n'))
    a, b, c = case.points
    one = together([a, b, c], "here")
    assert one.fed_from == "here" and one.electrode == pytest.approx(1 / (1 / 30 + 1 / 60 + 1 / 20))
    assert (one.cable.line, one.cable.neutral) == (pytest.approx(0.1 + 0.2j), pytest.approx(0.3))
    way = _in_series([c, b])
    assert (way.line, way.neutral) == (pytest.approx(0.6 + 1.2j), pytest.approx(1.8))
    assert _middle([a, b, c], {"h1": 1.0, "h2": 2.0, "h3": 3.0}) == "h1"  # half of the power hangs up to the second, which h1 feeds
    assert _middle([a, b, c], {"h1": 1.0, "h2": 2.0, "h3": 3.1}) == "h2"
    (whole,) = _summed(case.loads, "h9")
    assert (whole.point, whole.count) == ("h9", 4)


def test_a_stretch_is_what_hangs_between_two_runs_that_stay():
    names = ("one", "joint", "earthed", "stays", "behind", "last")
    points = tuple(Point(name, fed_from=above, electrode=20.0 if name == "earthed" else None) for name, above in zip(names, ("supply", *names)))
    loaded = dict.fromkeys(("one", "stays", "behind", "last"), ["a load"])
    # what neither draws nor earths anything is in none, and what stays in none either
    found = _stretches(SimpleNamespace(points=points), {p.name: p for p in points}, loaded, {"stays"})
    assert {above: [p.name for p in own] for above, own in found.items()} == {"supply": ["one", "earthed"], "stays": ["behind", "last"]}
