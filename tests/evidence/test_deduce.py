"""Rival causes weighed: closed forms, indistinguishable causes, what fits nothing, and what is refused."""

import json
import sys
from dataclasses import replace
from functools import cache
from math import exp, pi, sqrt

import numpy as np
import pytest
from click.testing import CliRunner
from scipy.integrate import quad

from lostneutral import analyse, data, parse_case, result_json
from lostneutral.cli import main
from lostneutral.errors import CaseError, NoSolutionError, UsageError
from lostneutral.evidence import tempered
from lostneutral.evidence.deduce import deduce, deduced, work
from lostneutral.evidence.likelihood import FATE, LIGHT, Judge
from lostneutral.evidence.rivals import CAUSES, rivals
from lostneutral.report.evidence.text import deduction_text
from lostneutral.report.evidence.verdict import verdict_on_cause

SLIP, MOST = data.load("evidence")["slip"]["value"], 2 * 230 * sqrt(3)


def only(**weights):
    """Priors that leave only the causes named (with _ for a blank)."""
    named = {key.replace("_", " "): value for key, value in weights.items()}
    return "".join(f'[[prior]]\ncause = "{cause}"\nweight = {named.get(cause, 0)}\n' for cause in CAUSES)


def load(name, connect, power, kind="resistive"):
    return f'[[load]]\nname = "{name}"\nkind = "{kind}"\nconnect = "{connect}"\npower = {power}\n'


def read(between, volts, sigma=5.0, more=""):
    return f'[[observation]]\nbetween = "{between}"\nvoltage = {volts}\nuncertainty = {sigma}\n{more}'


HEAD = 'title = "A flat"\n[supply]\nvoltage = 230\n[[point]]\nname = "flat"\n'
PAIR = HEAD + load("A", "L1-N", 1000) + load("B", "L2-N", 1000) \
    + '[[unknown]]\nload = "B"\npower = { low = 300, high = 2500 }\n'


def normal(off, sigma):
    return exp(-((off / sigma) ** 2) / 2) / (sigma * sqrt(2 * pi))


# Against closed forms

@pytest.mark.parametrize("volts", [240.0, 120.0])
def test_two_loads_in_series_against_the_integral_over_the_unknown_power(volts):
    # independent: V1 = √3 U0 P2 / (P1 + P2), the posterior integrated by quadrature
    found = deduce(parse_case(PAIR + read("L1-N", volts) + only(open_neutral=1)))
    law = lambda p: (1 - SLIP) * normal(230 * sqrt(3) * p / (1000 + p) - volts, 5.0) + SLIP / MOST
    whole = quad(law, 300, 2500, points=[400, 1500], limit=400)[0]
    mean = quad(lambda p: p * law(p), 300, 2500, points=[400, 1500], limit=400)[0] / whole
    first = found.rivals[0]
    assert first.evidence == pytest.approx(whole / 2200, abs=4 * first.error + 1e-9)
    assert first.error < 0.1 * first.evidence
    below = lambda p: quad(law, 300, p, limit=400)[0] / whole
    low, middle, high = next(k.after for k in found.unknowns if k.unit == "W")
    assert [below(p) for p in (low, middle, high)] == pytest.approx([0.05, 0.5, 0.95], abs=0.03)
    assert low < mean < high


def test_a_reading_of_a_normal_supply_is_the_linear_gaussian_case():
    # closed form: prior N(230, 6²), reading N(·, 4²): evidence N(y; 230, 52), posterior mean and spread by weights
    text = HEAD + load("A", "L1-N", 1000) + "[[unknown]]\nsupply_voltage = { mean = 230, deviation = 6 }\n"
    found = deduce(parse_case(text + read("L1-N", 240, 4.0) + only(sound=1)))
    first = found.rivals[0]
    assert first.evidence == pytest.approx((1 - SLIP) * normal(10, sqrt(52)) + SLIP / MOST, abs=4 * first.error + 1e-9)
    mean, spread = (230 / 36 + 240 / 16) / (1 / 36 + 1 / 16), sqrt(1 / (1 / 36 + 1 / 16))
    low, middle, high = found.voltages[0][2:]
    assert middle == pytest.approx(mean, abs=0.4)
    assert (high - low) / (2 * 1.645) == pytest.approx(spread, abs=0.4)


def test_a_reading_of_a_joints_resistance():
    # independent: with one load of R = U²/P behind a joint r in the neutral, V(N) = U r / (r + R), integrated over log r
    text = HEAD + load("A", "L1-N", 2300) + '[[unknown]]\nbreak = "flat"\nresistance = { low = 0.5, high = 50, scale = "log" }\n'
    found = deduce(parse_case(text + read("L1-N", 200, 4.0) + only(bad_joint=1)))
    law = lambda x: (1 - SLIP) * normal(230 * 23 / (23 + exp(x)) - 200, 4.0) + SLIP / MOST
    span = np.log(0.5), np.log(50)
    whole = quad(law, *span, points=[1.2], limit=400)[0] / (span[1] - span[0])
    assert found.rivals[0].evidence == pytest.approx(whole, abs=4 * found.rivals[0].error + 1e-9)


# Published: second-class electrician's examination of Japan, R1 (2019) first half question 24 and H30 (2018) second half
# question 27 (read in a secondary source): a device on a 100 V leg reads 150 V, or 120 V: the neutral is broken.

@pytest.mark.parametrize(("a", "b", "volts"), [(1000, 3000, 150), (1000, 1500, 120)])
def test_the_exam_items_worked_back(a, b, volts):
    text = 'title = "Split"\n[supply]\nsystem = "split-phase"\nvoltage = 100\n[[point]]\nname = "house"\n' \
        + load("A", "L1-N", a) + load("B", "L2-N", b)
    found = deduce(parse_case(text + read("L1-N", volts, 2.0)))
    assert found.rivals[0].kind == "open neutral" and found.kinds[0].ratio > 10


def test_every_settled_state_of_a_cause_has_its_share():
    # independent: the search of a single case, which follows the break and starts elsewhere
    text = HEAD + "".join(f'[[load]]\nname = "{a}"\nkind = "electronic"\nfront_end = "corrected"\nconnect = "{a}-N"\npower = 100\n'
                          for a in ("L1", "L2", "L3"))
    case = parse_case(text + read("L1-N", 324, 8.0) + only(open_neutral=1))
    states = [s.voltage("flat", "L1") for s in analyse(case).after.solutions if s.attracting]
    assert len(states) == 3
    likely = np.mean([(1 - SLIP) * normal(abs(v) - 324, 8.0) + SLIP / MOST for v in states])
    # what couples, capacitors of the items' filters above all, moves the states by some volts
    assert deduce(case).rivals[0].evidence == pytest.approx(likely, rel=0.12)


# What must hold

def test_causes_that_cannot_be_told_apart_share_alike():
    # invariant: two runs in series with nothing between them give the same voltages
    text = ('title = "Two runs"\n[supply]\nvoltage = 230\n[[point]]\nname = "main"\n[[point]]\nname = "flat"\nfed_from = "main"\n'
            + load("A", "L1-N", 1000).replace("[[load]]", '[[load]]\npoint = "flat"')
            + load("B", "L2-N", 400).replace("[[load]]", '[[load]]\npoint = "flat"'))
    found = deduce(parse_case(text + '[[observation]]\npoint = "flat"\nbetween = "L1-N"\nvoltage = 114\nuncertainty = 4\n'))
    shares = {w.at: w.posterior for w in found.rivals if w.kind == "open neutral"}
    assert shares["main"] == pytest.approx(shares["flat"], rel=1e-3)
    assert shares["main"] > 0.4
    assert not any({w.words for w in found.rivals[:2]} <= {row[0] for row in r.expected} and r.point == "flat"
                   and r.bits > 0.5 * r.of for r in found.next_readings)


@pytest.fixture(scope="module")
def pair():
    return parse_case(PAIR + read("L1-N", 240) + '[[observation]]\nload = "A"\nseen = "brighter"\n')


@pytest.mark.thorough
def test_the_same_seed_gives_the_same_answer_however_it_is_cut(pair, monkeypatch):
    whole = deduce(pair, 128, 5)
    monkeypatch.setattr("lostneutral.evidence.world.CHUNK", 500)
    cut = deduce(pair, 128, 5)
    assert [w.evidence for w in cut.rivals] == pytest.approx([w.evidence for w in whole.rivals], rel=1e-9)
    for a, b in zip(cut.voltages, whole.voltages):
        assert a[2:] == pytest.approx(b[2:], rel=1e-9)
    assert [w.evidence for w in deduce(pair, 128, 6).rivals] != [w.evidence for w in whole.rivals]


@pytest.mark.thorough
def test_a_first_look_comes_to_what_sampling_all_does(monkeypatch):
    # independent: the same case with every cause sampled
    module = sys.modules[deduce.__module__]
    pair = parse_case(PAIR + read("L1-N", 240, 2.0) + read("L2-N", 158, 2.0) + '[[observation]]\nload = "A"\nseen = "brighter"\n')
    whole = deduce(pair, 512).rivals
    monkeypatch.setattr(module, "LARGE", 0)
    monkeypatch.setattr(module, "KEPT", 2)
    looked = deduce(pair, 512)
    assert looked.looked > 0
    share = {w.words: w.posterior for w in looked.rivals}
    assert [share[w.words] for w in whole] == pytest.approx([w.posterior for w in whole], abs=0.02)


def test_shares_add_up_and_are_by_bayes(pair):
    found = deduce(pair, 256)
    assert sum(w.posterior for w in found.rivals) == pytest.approx(1)
    assert sum(w.prior for w in found.rivals) == pytest.approx(1)
    first, second = found.rivals[:2]
    assert first.posterior / second.posterior == pytest.approx(
        first.evidence * first.prior / (second.evidence * second.prior))


def test_ticks_add_up_to_the_work(pair):
    told = []
    deduce(pair, 128, tick=told.append)
    assert sum(told) == pytest.approx(work(pair))


@pytest.mark.thorough
def test_leaving_one_out_is_as_never_having_had_it(pair):
    # independent: the answer of the case without that observation
    with_all = deduce(pair, 1024)
    for k in range(len(pair.observations)):
        less = replace(pair, observations=tuple(np.delete(np.array(pair.observations, object), k)))
        kind = with_all.left_out[k].first
        assert next(x.posterior for x in deduce(less, 1024).kinds if x.kind == kind) == pytest.approx(
            with_all.left_out[k].posterior, abs=0.05)


def test_a_reading_that_no_star_can_give_is_named():
    found = deduce(parse_case(PAIR + read("L1-N", 640)))
    assert found.unexplained == ("L1-N at flat read 640 V",)
    assert not deduce(parse_case(PAIR + read("L1-N", 240))).unexplained


def test_a_few_volts_off_nominal_are_no_fault_unless_the_case_knows_its_supply():
    # practice: supplies are rarely at nominal; both lines 8 V high is a supply, not a joint
    text = PAIR + read("L1-N", 238, 2.0) + read("L2-N", 238, 2.0) + only(sound=1, bad_joint=1, supply_overvoltage=1)
    share = lambda text: next(k.posterior for k in deduce(parse_case(text), 256).kinds if k.kind == "sound")
    assert share(text.replace("voltage = 230\n", "", 1)) > 0.4
    assert share(text) < 0.1


def test_priors_of_the_case_count():
    found = rivals(parse_case(PAIR + '[[prior]]\ncause = "open neutral"\nweight = 0\n[[prior]]\ncause = "sound"\nweight = 9\n'))
    kinds = {r.kind: 0.0 for r in found}
    for r in found:
        kinds[r.kind] += r.prior
    assert "open neutral" not in kinds
    assert kinds["sound"] / kinds["bad joint"] == pytest.approx(9 / data.load("evidence")["prior"]["bad joint"])


def test_probabilities_of_what_was_seen():
    case = parse_case(HEAD + load("Lamp", "L1-N", 60, "lamp") + '[[observation]]\nload = "Lamp"\nseen = "failed"\n')
    judge, lamp, volts = Judge(case), case.loads[0], np.linspace(0, 500, 60)
    light = judge.light(lamp, volts, volts / 230.0, np.ones(60, bool))
    assert light.sum(axis=0) == pytest.approx(np.ones(60))  # invariant: one of the four words
    assert LIGHT[int(light[:, 3].argmax())] == "off" and LIGHT[int(light[:, 45].argmax())] == "brighter"
    soon, late = (judge.fails(lamp, [(volts, np.ones(60, bool), t)]) for t in (60.0, 36000.0))
    assert (late >= soon).all() and (np.diff(late) >= 0).all()  # invariant: more time or voltage never saves a lamp
    assert late[-1] > 0.9 and soon[np.abs(volts - 230).argmin()] == 0
    assert FATE == ("failed", "survived")


@pytest.mark.parametrize("impedance", [50.0, 2e3])
def test_an_instrument_draws_from_what_it_reads(impedance):
    # closed form: two resistors between two lines, the instrument beside the small one; leakage of 10 kΩ and more aside
    case = parse_case(HEAD + load("A", "L1-N", 500) + load("B", "L2-N", 4000)
                      + read("L1-N", 230 * sqrt(3) * 0.7, 8.0, f"impedance = {impedance}\n") + only(open_neutral=1))
    small, meter, large = 500 / 230**2, 1 / impedance, 4000 / 230**2
    stands = 230 * sqrt(3) * large / (small + meter + large)
    found = deduce(case).rivals[0]
    assert found.fits[0].middle == pytest.approx(stands, abs=0.5)


# What is refused

def test_nothing_seen_is_nothing_to_weigh():
    with pytest.raises(UsageError, match="Nothing was observed"):
        deduce(parse_case(PAIR))


def test_readings_that_contradict_each_other_unless_time_or_instrument_differ():
    apart = [read("L1-N", 300), read("N-L1", 180)]
    with pytest.raises(CaseError) as raised:
        parse_case(PAIR + "".join(apart))
    assert "cannot be 180 V and 300 V" in raised.value.faults[0] and raised.value.faults[0].startswith("case.toml:25:")
    for one, other in (("time = 5\n", "time = 90\n"), ("impedance = 1e7\n", "impedance = 5e3\n")):
        assert len(parse_case(PAIR + apart[0] + one + apart[1] + other).observations) == 2


@pytest.mark.parametrize(("more", "fault"), [
    (read("L1-N", 300) * 2, "is given twice"),
    ('[[observation]]\nload = "A"\nseen = "failed"\n[[observation]]\nload = "A"\nseen = "survived"\n', "cannot be survived and"),
    ('[[prior]]\ncause = "sound"\nweight = 1\n' * 2, "already has a weight"),
    ('[[prior]]\ncause = "lightning"\nweight = 1\n', "is not known")])
def test_what_the_reader_refuses(more, fault):
    with pytest.raises(CaseError) as raised:
        parse_case(PAIR + more)
    assert any(fault in str(f) for f in raised.value.faults)


def test_too_few_samples_are_no_answer(monkeypatch):
    monkeypatch.setattr(sys.modules[deduce.__module__], "ROUNDS", 0)
    monkeypatch.setattr(tempered, "MOST_STEPS", 1)  # nothing but what was likely before, of which hardly any fits
    sharp = read("L1-N", 238, 0.5) + read("L2-N", 160.37, 0.5)
    with pytest.raises(NoSolutionError, match="effective samples"):
        deduce(parse_case(PAIR + sharp + only(open_neutral=1)), 512)


def test_a_sharp_reading_is_found():
    # independent: quadrature, as above, where hardly one of the first samples fits
    found = deduce(parse_case(PAIR + read("L1-N", 240, 0.5) + read("L2-N", 158.37, 0.5) + only(open_neutral=1)), 2048)
    volts = lambda p: 230 * sqrt(3) * p / (1000 + p)
    law = lambda p: ((1 - SLIP) * normal(volts(p) - 240, 0.5) + SLIP / MOST) * (
        (1 - SLIP) * normal(230 * sqrt(3) - volts(p) - 158.37, 0.5) + SLIP / MOST)
    near = [240 / 158.37 * 1000 + d for d in (-10, 0, 10)]
    whole = quad(law, 300, 2500, points=near, limit=400)[0] / 2200
    assert found.rivals[0].evidence == pytest.approx(whole, rel=0.14)  # seeds scatter by some 6 % about it with 2048 samples
    assert abs(found.rivals[0].evidence - whole) < 3 * found.rivals[0].error


def test_every_cause_excluded():
    with pytest.raises(UsageError, match="weight 0"):
        deduce(parse_case(PAIR + read("L1-N", 240) + only()))


# As a user sees it

def test_the_command_writes_screen_and_files(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "flat.toml").write_text(PAIR + read("L1-N", 270) + read("L2-N", 128), encoding="utf-8")
    run = CliRunner().invoke(main, ["deduce", "flat.toml", "--samples", "256", "--full", "--json", "out.json", "-o", "out.pdf"])
    assert run.exit_code == 0, run.stderr
    for word in ("Concluded", "Assumed", "Most useful further reading", "Missing", "Cautions",
                 "It does not say that the first cause"):
        assert word in run.stdout
    block = json.loads((tmp_path / "out.json").read_text(encoding="utf-8"))["deduction"]
    assert block["causes"][0]["kind"] == "open neutral" and block["kinds"][0]["posterior"] > 0.5
    assert (tmp_path / "out.pdf").read_bytes().startswith(b"%PDF")
    again = CliRunner().invoke(main, ["deduce", "flat.toml", "--json", "out.json"])
    assert again.exit_code == 2 and "--force" in again.stderr


def test_text_fits_the_width(pair):
    result = deduced(pair, 128)
    assert max(map(len, deduction_text(result, 100).splitlines())) <= 120
    json.loads(result_json(result))


@pytest.mark.thorough
def test_runs_that_differ_are_taken_again_with_more_samples():
    # independent: readings on a neutral open at the house, all loads off, made by a network of its own (benchmarks/evidence_worlds);
    # few samples find the order of the cores in one run only, and a rival without a trace of it led by a factor of 100 000
    shown = (("L1-N", 205.01, 4.11), ("L2-N", 251.18, 5.0), ("L3-N", 55.42, 2.0), ("L1-L2", 393.99, 8.06), ("L2-L3", 394.71, 8.06),
             ("N-earth", 117.94, 2.35))
    text = HEAD.replace("voltage = 230", 'earthing = "TN-S"\nelectrode = 2').replace('"flat"', '"flat"\ncable = { length = 30, area = 10 }')
    text += "".join(load(f"{line} load", f"{line}-N", 1000) + "on = false\n" for line in ("L1", "L2", "L3"))
    found = deduce(parse_case(text + "".join(read(*row, "impedance = 3e5\n") for row in shown)), 64)
    assert found.rivals[0].words == "open neutral in the cable to flat"
    # invariant: the neutral open at the transformer does the same here, and is taken again with it
    above = next(w for w in found.rivals if w.kind == "supply neutral open")
    assert above.evidence == pytest.approx(found.rivals[0].evidence, rel=0.02) and above.posterior > 0.03


NARROW = 20.0, 5000.0, (98.5, 357.3, 299.9), 0.5  #: W of three unknown powers, V of three exact readings, their uncertainty


@cache
def of_a_narrow_peak():
    """The evidence of an open neutral: the integral over the two ratios of the powers on a grid."""
    low, high, shown, sigma = NARROW
    span = np.log(high / low)
    x = np.linspace(-span, span, 2001)  # logarithms of the ratios of A and B to C; how much of the cube lies on each pair of them
    a, b = np.meshgrid(x, x, indexing="ij", sparse=True)
    share = np.maximum(span - np.maximum(np.maximum(a, b), 0) + np.minimum(np.minimum(a, b), 0), 0) / span**3
    turn = np.exp(-2j * pi / 3)
    star = 230 * (np.exp(a) + np.exp(b) * turn + turn**2) / (np.exp(a) + np.exp(b) + 1)
    for k, volts in enumerate(shown):
        share = share * ((1 - SLIP) * np.exp(-(((abs(230 * turn**k - star) - volts) / sigma) ** 2) / 2) / (sigma * sqrt(2 * pi)) + SLIP / MOST)
    return share.sum() * (x[1] - x[0]) ** 2


@pytest.mark.thorough
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_narrow_peak_is_found_by_few_samples_or_its_error_is_told(seed):
    # independent: three unknown powers on an open neutral, three exact readings, the integral over the two ratios on a grid. Where what
    # came to rest beside the peak was weighed with what found it, the answer was 1e-2 to 1e-5 of this, with an error of half of it
    low, high, shown, sigma = NARROW
    text = HEAD + "".join(load(name, f"{line}-N", 1000) + f'[[unknown]]\nload = "{name}"\npower = {{ low = {low}, high = {high}, scale = "log" }}\n'
                          + read(f"{line}-N", volts, sigma) for name, line, volts in zip("ABC", ("L1", "L2", "L3"), shown))
    found = deduce(parse_case(text + only(open_neutral=1)), 32, seed).rivals[0]
    assert 0.25 < found.evidence / of_a_narrow_peak() < 4
    assert found.evidence == pytest.approx(of_a_narrow_peak(), abs=5 * found.error)


def test_a_cause_whose_runs_differ_by_more_than_they_come_to_is_told_as_not_resolved(pair):
    found = deduce(pair, 128)
    first = found.rivals[0]
    assert not any("Not resolved" in said for said in verdict_on_cause(found))
    told = verdict_on_cause(replace(found, rivals=(replace(first, error=3 * first.evidence), *found.rivals[1:])))
    assert f"Not resolved with so few samples: “{first.words}”" in told[0] and "a factor of about 4" in told[0]
