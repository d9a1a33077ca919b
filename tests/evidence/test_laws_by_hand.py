"""The parts that sampling and weighing are made of, each against its closed form, a count, or the normal law of another library."""

from dataclasses import replace
from math import erf, exp, hypot, inf, log, pi, sqrt
from statistics import NormalDist
from types import SimpleNamespace

import numpy as np
import pytest
from small_cases import HEAD, load, read

from lostneutral import parse_case
from lostneutral.case.model import Recording
from lostneutral.data import load as data
from lostneutral.evidence.asked import asked, ceiling, resistive_ceiling
from lostneutral.evidence.couplings import _beside, arrangements
from lostneutral.evidence.guarantee import guarantee
from lostneutral.evidence.influence import BINS, influences, parts_of
from lostneutral.evidence.likelihood import Judge, loaded, of_class
from lostneutral.evidence.next_reading import _blurred, _information
from lostneutral.evidence.operated import EITHER, _reached
from lostneutral.evidence.scale import support
from lostneutral.evidence.spans import made_span, percentile, standard_error
from lostneutral.evidence.tables import STEP, TOP, Tables
from lostneutral.evidence.tempered import _effective, _error, _next_power, _shares, resampled
from lostneutral.loads import load_model
from lostneutral.studies.levels import Level, _best_cut, _level, gaps, inflation, largest_change

NORMAL = NormalDist()


def judge(more, loads=None):
    return Judge(parse_case(HEAD + (loads or load()) + more))


# What an observation is worth

def test_light_about_its_thresholds():
    """Independent: the normal law of the standard library, about the thresholds of the data files."""
    of, rules = judge('[[observation]]\nload = "Lamp"\nseen = "brighter"\n'), data("where")["seen"]
    blur, lamp = of.table["blur"], of.case.loads[0]
    for volts, was in ((60.0, 230.0), (200.0, 230.0), (240.0, 225.0), (260.0, 230.0), (300.0, 200.0)):
        off = NORMAL.cdf((rules["off_below"] - volts / 230) / blur["off"])
        up = NORMAL.cdf((volts / was - rules["brighter_above"]) / blur["change"])
        down = NORMAL.cdf((rules["dimmer_below"] - volts / was) / blur["change"])
        wanted = [(1 - off) * up, (1 - off) * down, (1 - off) * max(1 - up - down, 0), off]
        found = of.light(lamp, np.array([volts]), np.array([volts / was]), np.array([True]))[:, 0]
        assert found == pytest.approx(wanted, abs=1e-9)
    assert of.light(lamp, np.array([230.0]), np.array([1.0]), np.array([False]))[:, 0] == pytest.approx([0, 0, 0, 1])


@pytest.mark.parametrize("bound, at", [(None, 310.0), ("up to", 306.0), ("more than", 306.0), ("about", 330.0)])
def test_density_of_a_reading(bound, at):
    # closed form: the normal density, or its integral on the side that is told
    more = f'bound = "{bound}"\n' if bound else ""
    of = judge(read(sigma=4.0, more=more))
    o = of.observations[0]
    least = of.table["least_uncertainty"]["value"]
    sigma = max(4.0, least)
    assert of.sigma(o) == pytest.approx(sigma)
    off = (at - 300.0) / sigma
    side = 0.5 * (1 + erf(off / sqrt(2)))
    wanted = {None: exp(-off**2 / 2) / (sigma * sqrt(2 * pi)), "about": exp(-off**2 / 2) / (sigma * sqrt(2 * pi)), "up to": 1 - side, "more than": side}[bound]
    assert of.reading(o, np.array([[at]]))[0] == pytest.approx(wanted, rel=1e-9)
    # a second lead that may have been elsewhere: the mean over where there is a voltage, and nothing where there is none
    assert of.reading(o, np.array([[at, np.nan]]))[0] == pytest.approx(wanted)
    assert of.reading(o, np.array([[np.nan, np.nan]]))[0] == 0
    assert of.anything(o) == pytest.approx(0.5 if bound in ("up to", "more than") else 1 / (2 * 230 * sqrt(3)))


def test_about_without_an_uncertainty_is_ten_per_cent_and_a_class_has_its_own():
    about = judge('[[observation]]\nbetween = "L1-N"\nvoltage = 300\nbound = "about"\n')
    assert about.sigma(about.observations[0]) == pytest.approx(30.0)  # documented: 10 % unless uncertainty is given
    entry = data("couplings")["instrument"]
    for k, name in enumerate(entry["classes"]):
        assert of_class((name,), 300.0) == pytest.approx(entry["volts"][k] + 300.0 * entry["share"][k])
    assert of_class(tuple(entry["classes"]), 300.0) == pytest.approx(min(v + 300.0 * s for v, s in zip(entry["volts"], entry["share"])))
    assert of_class((), 300.0) == 0


def test_a_guide_falls_with_the_misfit_in_the_square_first_then_in_proportion():
    of = judge(read(sigma=4.0))
    sigma, volts = of.sigma(of.observations[0]), np.array([300.0, 308.0, 380.0, 0.0])
    told = of.guide(volts[:, None, None], np.zeros((4, 1)), np.zeros((4, 1)), np.array([True, True, True, False]))
    off = (volts - 300) / sigma
    # documented: half the square of the misfit, in proportion beyond four standard deviations
    assert told[:3] == pytest.approx([-x**2 / 2 / (1 + x / 4) for x in off[:3]]) and told[3] == -1e3


def test_a_cause_that_is_not_listed_takes_any_voltage():
    of = judge(read(volts=300.0, sigma=4.0) + read(volts=310.0, sigma=4.0) + read("L2-N", 200.0, 4.0))
    highest, slip = of.table["not_listed"]["highest"], of.table["slip"]["value"]
    sigma, anything = of.sigma(of.observations[0]), 1 / (2 * 230 * sqrt(3))
    v = np.linspace(0, highest, 200001)
    law = lambda at: (1 - slip) * np.exp(-(((v - at) / sigma) ** 2) / 2) / (sigma * sqrt(2 * pi)) + slip * anything
    pair, one = np.trapezoid(law(300) * law(310), v) / highest, np.trapezoid(law(200), v) / highest
    whole, without = of.not_listed()
    # independent: the integral over one common voltage of both readings at one place
    assert whole == pytest.approx(pair * one, rel=1e-3)
    assert without == pytest.approx([np.trapezoid(law(310), v) / highest * one, np.trapezoid(law(300), v) / highest * one, pair], rel=1e-3)


def test_lives_add_up_and_a_load_without_supply_does_not_fail():
    of = judge('[[observation]]\nload = "Lamp"\nseen = "failed"\n')
    lamp = of.case.loads[0]
    grid, log_life, spread, _ = of._life(lamp)
    at = int(np.abs(grid - 330).argmin())
    life, on, off = exp(log_life[at]), np.array([True]), np.array([False])
    width = max(spread[at], of.table["life"]["least_spread"])
    volts = np.array([grid[at]])
    for parts in ((1.5,), (0.5, 1.0)):  # of a life
        chance = of.fails(lamp, [(volts, on, share * life) for share in parts])[0]
        assert chance == pytest.approx(NORMAL.cdf(log(1.5) / width), rel=1e-6)  # log-normal about the central life
    assert of.fails(lamp, [(volts, off, 100 * life)])[0] == 0
    # the law of wear itself: a filament's life by the 13th power and less, from 1000 h (data file `harm`)
    assert 8 < -(log_life[at + 8] - log_life[at]) / log(grid[at + 8] / grid[at]) < 16


def test_a_load_that_may_fail_early_is_not_taken_as_one_that_never_does():
    """Of a surge device 10 % low only the early limit is a failure: 5 % of them fail by it, and a failure is no proof against the voltage."""
    strip = load("Strip", kind="varistor").replace("power = 60.0", "rating = 275")
    of = judge('[[observation]]\nload = "Strip"\nseen = "failed"\n', loads=strip)
    surge = of.case.loads[0]
    grid, log_life, spread, _ = of._life(surge)
    at = int(np.abs(grid - 310).argmin())
    harm = of._harms_of(surge, grid)[at]
    assert harm.central is None and harm.earliest < 3600
    on = np.array([True])
    assert of.fails(surge, [(grid[at:at + 1], on, harm.earliest)])[0] == pytest.approx(0.05, rel=0.01)  # documented: bounds that hold 90 %
    assert of.fails(surge, [(grid[at:at + 1], on, 86400.0)])[0] > 0.05 > of.fails(surge, [(np.array([260.0]), on, 86400.0)])[0]


def test_order_of_two_failures():
    case = parse_case(HEAD + load("A", power=60) + load("B", "L2-N", 60) + '[[observation]]\nload = "A"\nseen = "failed"\nsooner_than = "B"\n')
    of = Judge(case)
    condition = of.courses[0][0][0]
    state = SimpleNamespace(on=np.ones((2, 2), bool), loads=np.array([[330.0, 290.0], [300.0, 300.0]]))
    found = of._sooner(case.loads[0], of.observations[0], 0, {condition: state})
    grid, log_life, spread, _ = of._life(case.loads[0])
    lives = [np.interp(v, grid, log_life) for v in (330.0, 290.0)]
    widths = [max(np.interp(v, grid, spread), of.table["life"]["least_spread"]) for v in (330.0, 290.0)]
    assert found == pytest.approx([NORMAL.cdf((lives[1] - lives[0]) / hypot(*widths)), 0.5], abs=1e-9)


def test_a_meter_shows_what_its_share_of_the_circuit_leaves():
    # closed form: a source of inner impedance Z behind a meter of R shows V R / (R + Z)
    z, meter, v = 300 + 400j, np.array([1000.0]), np.array([200 - 50j])
    inner = np.array([[[z.real, -z.imag], [z.imag, z.real]]])
    assert loaded(v, inner, meter) == pytest.approx(abs(v * 1000 / (1000 + z)))
    assert loaded(v, np.array([-1000.0 * np.eye(2)]), meter) == 0  # one that gives back what the meter takes has no answer


@pytest.mark.parametrize("value, lasts, chance", [(9.9, 5.0, 0.0), (10.1, 5.0, EITHER), (10.1, 0.05, 0.0), (30.1, 5.0, 1.0), (30.1, 0.5, EITHER), (np.nan, 5.0, EITHER)])
@pytest.mark.parametrize("way", [1, -1])
def test_what_a_device_does_between_its_thresholds(value, lasts, chance, way):
    at = SimpleNamespace(never=10.0 * way, always=30.0 * way, within=1.0, not_before=0.1)
    assert _reached(np.array([value * way]), at, lasts)[0] == chance
    assert _reached(None, at, lasts) == EITHER


# What is made of samples

def test_percentiles_and_spans_are_those_of_a_count():
    rng = np.random.default_rng(3)
    values, weight = rng.normal(230, 20, 400), rng.integers(1, 5, 400).astype(float)
    repeated = np.sort(np.repeat(values, weight.astype(int)))  # each as often as it weighs
    wanted = [repeated[int(np.ceil(s * len(repeated))) - 1] for s in (0.05, 0.5, 0.95)]
    assert percentile(values, weight) == pytest.approx(wanted)
    values[:40], counts = np.nan, np.arange(400) % 10 != 0
    group, kept = np.arange(400) % 4, counts & np.isfinite(values)
    made = made_span("house", "L1", values, weight, group, counts, (("above", None, values > 250),), np.where(values > 240, "fails", "unharmed"))
    w, v, g = weight[kept], values[kept], group[kept]
    each = np.array([percentile(v[g == k], w[g == k]) for k in range(4)])
    assert (made.low, made.middle, made.high) == tuple(percentile(v, w)) and (made.least, made.most) == (v.min(), v.max())
    assert made.errors == pytest.approx(each.std(axis=0, ddof=1) / 2) and made.there == pytest.approx(w.sum() / weight.sum())
    above = w[v > 250].sum() / w.sum()
    shares = np.array([w[(v > 250) & (g == k)].sum() / w[g == k].sum() for k in range(4)])
    assert (made.chances[0].share, made.chances[0].error) == (pytest.approx(above), pytest.approx(shares.std(ddof=1) / 2))
    assert [(c.words, round(c.share, 9)) for c in made.outcomes] == sorted(
        [(x, round(w[(v > 240) == (x == "fails")].sum() / w.sum(), 9)) for x in ("fails", "unharmed")], key=lambda c: -c[1])
    never = made_span("house", "L1", values, weight, group, counts, (("none", None, values > 1e4),)).chances[0]
    assert (never.share, never.error) == (0, pytest.approx(3 / kept.sum()))  # rule of three
    assert standard_error(np.array([[1.0, 2.0], [3.0, 6.0]])) == pytest.approx([1.0, 2.0])


def test_influence_is_the_share_of_the_variance_between_its_parts():
    rng = np.random.default_rng(5)
    unknown = SimpleNamespace(on=0.3, power=SimpleNamespace(low=100.0, high=900.0, mean=None, deviation=None, scale="linear"))
    switch, power = (SimpleNamespace(name=n, key=k, unknown=unknown) for n, k in (("switch", "on"), ("power", "power")))
    shares, weight = rng.random((4000, 2)), rng.random(4000) + 0.5
    y = 100.0 * (shares[:, 0] < 0.3) + 40.0 * shares[:, 1]
    first, second = influences((power, switch), shares[:, ::-1], y, weight)
    assert (first.name, second.name) == ("switch", "power")
    # closed form: variance of a switch 100² · 0.3 · 0.7, of a uniform part 40² / 12
    parts = 100.0**2 * 0.21, 40.0**2 / 12
    assert first.share == pytest.approx(parts[0] / sum(parts), abs=0.01) and second.share == pytest.approx(parts[1] / sum(parts), abs=0.02)
    off, on = sorted(first.parts, key=lambda p: p.low)
    assert (off.words, on.words) == ("off", "on") and on.share == pytest.approx(0.3, abs=0.02)
    assert (on.low, on.high) == (pytest.approx(102, abs=1), pytest.approx(138, abs=1))
    # of 0.7 even over 0 to 40 V and 0.3 over 100 to 140 V: 5 % lie below 2.9 V, 95 % below 133.3 V
    assert first.width == pytest.approx(130.5, abs=1) and first.width_known == pytest.approx(36.0, abs=1)
    number, words = parts_of(power, np.array([0.0, 0.5, 0.999]))
    assert list(number) == [0, BINS // 2, BINS - 1] and words[0] == "100 to 150 W"
    assert influences((switch,), shares[:1], np.array([np.nan]), weight[:1]) == ()
    # by hand, two samples off and two on: 25 V² between them, 1 V² within, of which chance puts half between; 26 V² in all
    few = np.array([[0.9], [0.8], [0.1], [0.2]])
    assert influences((switch,), few, np.array([0.0, 2.0, 10.0, 12.0]), np.ones(4))[0].share == pytest.approx(24.5 / 26)
    assert influences((switch,), few, np.array([0.0, 2.0, 1.0, 3.0]), np.ones(4))[0].share == 0  # no more than chance


def test_a_law_is_blurred_as_by_the_usual_filter():  # independent: another library
    from scipy.ndimage import gaussian_filter1d

    law = np.random.default_rng(2).random(40)
    for sigma in (0.4, 2.5, 30.0):
        assert _blurred(law, sigma) == pytest.approx(gaussian_filter1d(law, sigma, mode="nearest"), abs=1e-12)


@pytest.mark.parametrize("apart, bits", [(0.0, 0.0), (200.0, 1.0)])
def test_information_of_a_reading_between_two_causes(apart, bits):
    # invariant: none where both give the same, one bit where no voltage belongs to both
    weight = np.full(9, 1 / 9)
    assert _information([(np.full(9, 150.0), weight), (np.full(9, 150.0 + apart), weight)]) == pytest.approx(bits, abs=1e-6)
    # closed form: a reading that one cause leaves floating in half of its samples
    half = np.where(np.arange(8) < 4, np.nan, 150.0)
    told = _information([(half, np.full(8, 1 / 8)), (np.full(8, 150.0), np.full(8, 1 / 8))])
    assert told == pytest.approx(0.5 * (0.5 * log(0.5 / 0.75, 2) + 0.5 * 1 + log(1 / 0.75, 2)), abs=1e-6)


def test_an_instrument_of_low_impedance_is_no_surer_than_its_class():
    # independent: what a normal law tells of two means, by quadrature; of the usual uncertainty, and of that of the class
    def told(d):
        y = np.linspace(-12, 12 + d, 8001)
        f, g = (np.exp(-((y - m) ** 2) / 2) / sqrt(2 * pi) for m in (0.0, d))
        mean = (f + g) / 2
        return float(np.trapezoid((f * np.log2(f / mean) + g * np.log2(g / mean)) / 2, y))

    usual, one = data("where")["uncertainty"], np.ones(1)
    pair, middle = [(np.array([393.0]), one), (np.array([423.0]), one)], 408.0
    assert _information(pair) == pytest.approx(told(30 / (usual["volts"] + usual["share"] * middle)), rel=0.03)
    low = of_class(("low-impedance tester",), middle)
    assert low > usual["volts"] + usual["share"] * middle and _information(pair, ("low-impedance tester",)) == pytest.approx(told(30 / low), rel=0.03)


def test_words_of_the_scale_begin_where_it_says():
    scale = data("evidence")["scale"]
    for n, upto in enumerate(scale["upto"]):
        assert support(upto * 0.999) == scale["words"][n] and support(upto) == scale["words"][n + 1]


def test_weights_of_a_mixture_of_steps():
    """Closed form: samples of a prior and of the prior times x, weighed together, give the mean of x under the prior."""
    rng = np.random.default_rng(11)
    prior, tilted = rng.random(4000), np.sqrt(rng.random(4000))  # density 1, and 2 x
    x = np.concatenate([prior, tilted])
    shares = _shares(np.stack([np.zeros(8000), np.log(x)], axis=1), np.array([4000.0, 4000.0]))
    assert shares.sum() == pytest.approx(1.0) and float(shares @ x) == pytest.approx(0.5, abs=0.01)
    assert float(shares @ x**2) == pytest.approx(1 / 3, abs=0.01)
    # independent: the weights are 1 / (1 + 2 x), normalised
    assert shares[:50] / shares[0] == pytest.approx((1 + 2 * x[0]) / (1 + 2 * x[:50]), rel=0.05)
    assert _shares(np.zeros((5, 1)), np.array([5.0])) == pytest.approx(np.full(5, 0.2))


def test_steps_leave_the_share_of_effective_samples_that_they_are_told_to():
    rng = np.random.default_rng(2)
    likely = np.stack([3.0 * rng.standard_normal(500), 0.01 * rng.standard_normal(500)])
    power = _next_power(likely, np.zeros(2), 0.5)
    weight = np.exp(power[0] * likely[0])
    assert weight.sum() ** 2 / (weight**2).sum() / 500 == pytest.approx(0.5, abs=1e-3) and power[1] == 1.0
    # systematic resampling: each is taken its expected number of times, to within one
    weight = rng.random((1, 40))
    taken = np.bincount(resampled(weight, 200, np.array([[0.4]]))[0], minlength=40)
    assert (np.abs(taken - 200 * weight[0] / weight.sum()) < 1).all()
    assert _effective(np.array([0.2, 0.2, 0.6]), np.array([0, 0, 1])) == pytest.approx(1 / (0.4**2 + 0.6**2))  # rows of one sample together
    square = np.log(3) ** 2 / 2  # closed form: Cox's standard error of the mean of a log-normal law, of two runs that differ threefold
    assert _error([1.0, 3.0], 9.0, 100) == pytest.approx(2.0 * np.expm1(sqrt(square / 2 + square**2 / 2)))
    assert _error([0.0, 0.0], 9.0, 100) == 0.0 and _error([2.0, 2.0], 9.0, 100) == 0.0
    assert _error([2.0], 25.0, 100) == pytest.approx(2 * sqrt(1 / 25 - 1 / 100))


# What is asked of them

def test_what_is_asked_leaves_joints_out():
    text = HEAD.replace("{}", '{ earthing = "TN-S" }') + '[[point]]\nname = "house"\n[[point]]\nname = "joint"\nkind = "joint"\nfed_from = "supply"\n' \
        + load("A", "L1-N", 100, more='point = "house"\n')
    case = parse_case(text)
    rng = np.random.default_rng(4)
    held = {(p, c): rng.normal(200, 30, 50) * (3.0 if p == "joint" else 1.0) for p in ("house", "joint") for c in ("L1", "L2", "L3", "PE")}
    held |= {(p, "N"): np.zeros(50) for p in ("house", "joint")}
    earth = {"house": rng.normal(30, 5, 50), "joint": np.full(50, 500.0)}
    states = SimpleNamespace(world=SimpleNamespace(case=case), between=lambda a, b: earth[a[0]] if a[1] == "PE" else held[a] - held[b])
    weight = np.full(50, 0.02)
    found = asked("cause", states, weight, np.zeros(50, bool))
    lines = np.abs([held["house", line] for line in ("L1", "L2", "L3")])
    assert found.highest == pytest.approx(percentile(lines.max(axis=0), weight)) and found.lowest == pytest.approx(percentile(lines.min(axis=0), weight))
    assert found.phases[1] == ("L2", pytest.approx(percentile(lines[1], weight)), pytest.approx(percentile(lines[1], weight)))
    assert found.metalwork == pytest.approx(percentile(earth["house"], weight))
    # what nothing holds can be at any voltage, whatever couples to it: in 3 of 50 rows beyond the upper end of 5 %, in 2 not
    loose = lambda rows: asked("cause", states, weight, np.arange(50) < rows).metalwork
    assert loose(3)[2] == inf and loose(3)[1] < inf and loose(2)[2] < inf and loose(50) == (inf, inf, inf)
    # closed form: no resistive network passes the line-to-line voltage
    assert resistive_ceiling(case, 1.1) == pytest.approx(1.1 * 230 * sqrt(3))
    top = ceiling(case, "L1-N", [("a", np.array([3.0, np.nan])), ("b", np.array([7.0, 1.0]))], 1.0)
    assert (top.computed, top.cause, top.resistive) == (7.0, "b", pytest.approx(230 * sqrt(3)))


def test_what_is_certain_whatever_the_loads():
    # closed form: the hull of the sources, wider by the supply's highest voltage
    plain = parse_case(HEAD + load(kind="resistive") + '[[unknown]]\nload = "Lamp"\non = 0.5\n[[unknown]]\nsupply_voltage = { low = 220, high = 240 }\n')
    assert guarantee(plain).highest == pytest.approx(240 * sqrt(3))
    supply = "[supply]\nline_impedance = [0.1, 0.02]\n"
    cabled = parse_case(HEAD.replace("supply = {}\n", supply) + load(kind="resistive", power=2300.0))
    shorted = parse_case(HEAD.replace("supply = {}\n", "[supply]\nline_impedance = [0.1, 0]\n") + load(kind="impedance").replace("power = 60.0", "resistance = 0"))
    assert guarantee(shorted).highest == pytest.approx(230 * sqrt(3))  # a short has no reactance
    # three lines of 0.02 ohm at the current of 23 ohm at the widest voltage (and 5 % more)
    assert guarantee(cabled).highest == pytest.approx(230 * sqrt(3) + 0.06 * 1.05 * 230 * sqrt(3) / 23, rel=1e-6)


# Tables and recordings

def test_laws_as_tables_have_value_and_slope_between_their_voltages():
    case = parse_case(HEAD + load() + load("Heater", "L2-N", 2000, "resistive"))
    lamp, heater = (load_model(x, case.supply)[0] for x in case.loads)
    table = Tables().law((lamp, heater), 1)
    volts = np.array([[31.26, 31.26], [230.1, 12.0], [401.9, 500.0], [TOP + 40, TOP + 40]])
    y, slope, crossed = table.response(np.zeros(4, int), volts.astype(complex))
    assert crossed == [] and y[:, 1] == pytest.approx(2000 / 230**2) and slope[:, 1] == pytest.approx(0)
    for row in range(3):
        v, h = volts[row, 0], 0.01
        law = lambda u: complex(lamp.response(np.array([u]))[0][0])
        assert y[row, 0] == pytest.approx(law(v), rel=1e-5)
        assert slope[row, 0] == pytest.approx((law(v + h) - law(v - h)) / (2 * h), rel=2e-3)  # the law's own slope, by differences
    assert slope[3, 0] == 0 and y[3, 0] == pytest.approx(complex(lamp.response(np.array([TOP]))[0][0]), rel=1e-4)
    assert Tables().is_constant(heater) and not Tables().is_constant(lamp) and STEP == 0.5


@pytest.mark.parametrize("rest, factor", [
    ([1.0, 1.0, -1.0, -1.0], 1.25 / 0.75),  # arithmetic: products 1 − 1 + 1 over 4
    ([1.0, -1.0, 1.0, -1.0], 1.0),  # none below 1
    ([1.0, 1.0, 1.0], 1.0),  # too few to tell
    ([1.0] * 100, 1.98 / 0.02),  # no more than 0.98
    ([0.0] * 9, 1.0)])
def test_what_correlation_makes_of_a_variance(rest, factor):
    assert inflation(np.array(rest)) == pytest.approx(factor)


def test_levels_cuts_and_gaps_of_a_recording():
    rng = np.random.default_rng(6)
    v = np.concatenate([rng.normal(230, 2, 17), rng.normal(238, 2, 26)])
    misfit = lambda part: float(((part - part.mean()) ** 2).sum())
    cuts = {k: misfit(v) - misfit(v[:k]) - misfit(v[k:]) for k in range(3, 41)}
    best = max(cuts, key=cuts.get)
    assert _best_cut(v) == (best, pytest.approx(cuts[best]))  # brute force
    assert _best_cut(v[:5]) == (0, 0.0) and _best_cut(np.array([1.0, 1, 1, 9, 9, 9]))[0] == 3
    t = 60.0 * np.arange(1, len(v) + 1)
    made = Recording("m.csv", "", "house", ("L1", "N"), tuple(t), tuple(v), 60.0)
    level = _level(made, t[:17], v[:17])
    deviation = np.std(v[:17], ddof=1)
    assert (level.start, level.end, level.values) == (0.0, 17 * 60.0, 17) and level.mean == pytest.approx(v[:17].mean())
    assert level.error == pytest.approx(deviation * sqrt(inflation(v[:17] - v[:17].mean()) / 17))
    before, after = largest_change(made)
    assert (before.end + after.start) / 2 == best * 60.0
    assert gaps(replace(made, times=(0.0, 60.0, 120.0, 215.0, 275.0, 372.0, 432.0), volts=(230.0,) * 7)) == ((275.0, 372.0),)


def test_the_change_that_lasts_is_the_change(monkeypatch):
    # arithmetic: a step times the root of the shorter level: 30 V for 4 values 60, 26 V for 9 values 78
    told = (Level(0, 100, 230, 1, 50), Level(102, 110, 260, 1, 4), Level(112, 200, 230, 1, 9), Level(206, 300, 204, 1, 20), Level(310, 400, 210, 1, 90))
    monkeypatch.setattr("lostneutral.studies.levels.levels", lambda recording: told)
    assert largest_change(None) == told[2:4]


def test_cores_beside_each_other_round_a_cable():
    # count: three ways of four cores round a cable, two cores beside each other in two of them; of three all are
    assert len(arrangements(("L1", "L2", "L3", "N"))) == 3 and len(arrangements(("L1", "L2", "L3", "N", "PE"))) == 12
    assert int(_beside(("L1", "L2", "L3", "N"), ("L1", "N")).sum()) == 2
    assert _beside(("L1", "N", "PE"), ("L1", "PE")).all()
