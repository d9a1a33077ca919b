"""What unknown loads leave open: ranges, chances, certainty and influence, and how they are told."""

import json
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from lostneutral.case import parse_case
from lostneutral.case.model import Unknown
from lostneutral.case.seen import Spread
from lostneutral.circuit.solution import LoadResult
from lostneutral.cli import main
from lostneutral.consequences.harm import harm_of
from lostneutral.consequences.limits import band
from lostneutral.evidence import ranges as evidence_ranges
from lostneutral.evidence.guarantee import guarantee
from lostneutral.evidence.influence import parts_of
from lostneutral.evidence.outcomes import outcomes_at
from lostneutral.evidence.ranges import SCRAMBLINGS, _point, _tests, bound, ranges, sample_count
from lostneutral.evidence.spans import made_span, percentile
from lostneutral.loads import load_model
from lostneutral.report.documents.document import blocks
from lostneutral.report.ranges.text import ranges_text
from lostneutral.report.screen.short_answers import ranges_in_short

HEAD = 'title = "ranges"\n[supply]\n'
U, LINE_TO_LINE = 230.0, 230.0 * 3**0.5


def load(name, kind, power, connect, more=""):
    return f'[[load]]\nname = "{name}"\nkind = "{kind}"\npower = {power}\nconnect = "{connect}"\n{more}'


PAIR = HEAD + load("a", "resistive", 500, "L1-N") + load("b", "resistive", 500, "L2-N")
ONE_POWER = PAIR + '[[unknown]]\nload = "b"\npower = { low = 100, high = 1900 }\n'


def across_a(power):
    """Independent: closed form of two resistances in series on the line-to-line voltage."""
    return LINE_TO_LINE * power / (500 + power)


def test_ranges_do_not_depend_on_how_many_samples_are_solved_at_a_time(monkeypatch):
    whole = ranges(parse_case(ONE_POWER), 64, 3)
    monkeypatch.setattr(evidence_ranges, "CHUNK", 3 * SCRAMBLINGS)  # of each of the sequences 3, 3 and 2
    parts = ranges(parse_case(ONE_POWER), 64, 3)
    assert whole.samples == parts.samples == 64
    assert [c.words for c in whole.phases[0].chances] == ["too high", "beyond insulation", "too low", "dead"] == [c.words for c in whole.highest.chances]
    for one, other in zip((whole.highest, *whole.phases, *whole.loads), (parts.highest, *parts.phases, *parts.loads)):
        assert (other.low, other.middle, other.high, other.there) == pytest.approx((one.low, one.middle, one.high, one.there))


def test_a_three_phase_motor_has_the_range_of_the_voltage_between_its_lines():
    # invariant: with its star point on the neutral it is at its rated voltage too, not at 1/√3 of it
    motor = load("pump", "motor", 2000, "L1-L2-L3-N")
    (pump, _) = ranges(parse_case(HEAD + motor + load("b", "resistive", 100, "L2-N") + '[[unknown]]\nload = "b"\non = 0.5\n'), 64, 3).loads
    assert pump.low == pytest.approx(LINE_TO_LINE, rel=0.01) and [c.words for c in pump.outcomes] == ["unharmed"]


@pytest.mark.parametrize(("crosses", "outcome"), [("", "unharmed"), ('[[cross]]\npoint = "house"\nconductors = ["L1", "L2"]\n', "runs in reverse")])
def test_a_motor_behind_transposed_lines_runs_in_reverse(crosses, outcome):  # practice
    house = HEAD + '[[point]]\nname = "house"\n' + crosses + load("pump", "motor", 2000, "L1-L2-L3")
    (pump, _) = ranges(parse_case(house + load("b", "resistive", 100, "L3-N") + '[[unknown]]\nload = "b"\non = 0.5\n'), 64, 3).loads
    assert [c.words for c in pump.outcomes] == [outcome]


def test_ranges_and_chances_against_a_closed_form():
    found = ranges(parse_case(ONE_POWER), 4096, 3)
    a = next(s for s in found.loads if s.name == "a")
    for got, share, error in zip((a.low, a.middle, a.high), (0.05, 0.5, 0.95), a.errors):
        assert got == pytest.approx(across_a(100 + 1800 * share), abs=4 * error + 0.05)
    limit = 253.0
    wanted = (1900 - 500 * limit / (LINE_TO_LINE - limit)) / 1800  # the power at which across_a passes the limit
    high = next(c for c in a.chances if c.words == "too high")
    assert high.share == pytest.approx(wanted, abs=4 * high.error + 1e-4)
    assert 0 < high.error < 0.01
    assert a.there == 1.0
    assert a.least >= across_a(100) - 1e-9 and a.most <= across_a(1900) + 1e-9


@pytest.mark.thorough
def test_the_sampling_error_is_honest():
    # independent: a chance known exactly, of 40 answers with few samples about two thirds lie within one error
    wanted = (1900 - 500 * 253.0 / (LINE_TO_LINE - 253.0)) / 1800
    case, apart = parse_case(ONE_POWER), []
    for seed in range(40):
        chance = ranges(case, 256, seed).loads[0].chances[0]
        apart.append(abs(chance.share - wanted) / chance.error)
    assert 0.4 < np.mean(np.array(apart) < 1) < 0.95
    assert np.mean(np.array(apart) < 3) > 0.9


def test_a_chance_that_no_sample_shows_is_not_called_nought():
    # independent: the rule of three
    found = ranges(parse_case(ONE_POWER), 1024, 1)
    beyond = next(c for c in found.highest.chances if c.words == "beyond insulation")
    assert (beyond.share, beyond.error) == (0.0, 3 / 1024)


def test_percentile_of_weighted_values():
    # independent: by hand
    values, weight = np.array([30.0, 10.0, 20.0]), np.array([0.2, 0.7, 0.1])
    assert list(percentile(values, weight, (0.05, 0.7, 0.75, 0.95))) == [10.0, 10.0, 20.0, 30.0]


def test_outcomes_are_those_of_the_laws_of_harm():
    # independent: the law asked at every voltage instead of at steps
    case = parse_case(HEAD + load("lamp", "lamp", 60, "L1-N"))
    lamp, limits = case.loads[0], band(case.supply.limits)
    model = load_model(lamp, case.supply)[0]
    volts = np.linspace(0.0, 420.0, 301)
    for v, got in zip(volts, outcomes_at(case, lamp, volts)):
        details = {k: np.asarray(x).item() for k, x in model.describe(model.settled(v), v).items()}
        seen = LoadResult("lamp", lamp.connect, True, complex(v), None, None, None, v / 230.0, details)
        near = {harm_of(lamp, model, replace(seen, voltage=complex(v + d), ratio=(v + d) / 230.0), limits).outcome
                for d in (-0.02, 0, 0.02)}
        assert got in near


@settings(max_examples=15, derandomize=True, deadline=None)
@given(st.lists(st.tuples(st.integers(1, 3), st.floats(10, 5000), st.sampled_from(["resistive", "lamp", "heater"])),
                min_size=2, max_size=5), st.sampled_from([0.0, 0.4]))
def test_no_sample_passes_what_is_certain(loads, ohms):
    # invariant: resistive loads cannot take a line further from the neutral than another line is
    text = HEAD + "".join(load(f"x{k}", kind, min(p, 300) if kind == "lamp" else p, f"L{line}-N")
                          + f'[[unknown]]\nload = "x{k}"\non = 0.5\n' for k, (line, p, kind) in enumerate(loads))
    case = parse_case(text + f'[[point]]\nname = "intake"\ncable = {{ line = [{ohms}, 0], neutral = [{ohms}, 0] }}\n')
    found = ranges(case, 64, 1)
    assert found.guarantee.highest == pytest.approx(LINE_TO_LINE)
    assert (found.highest.most or 0.0) <= LINE_TO_LINE + 1e-6


@pytest.mark.parametrize("more, why", [
    (load("coil", "exponential", 100, "L3-N", "reactive_power = 80\n"), "load coil"),
    (load("pump", "motor", 300, "L3-N"), "load pump"),
    ('[[point]]\nname = "intake"\ncable = { line = [0.1, 9.0] }\n', "the cable to intake"),
    ("[[unknown]]\nsupply_voltage = { mean = 230, deviation = 3 }\n", "normal law"),
])
def test_nothing_is_called_certain_where_it_is_not(more, why):
    # practice: reactance can push the star point out of the triangle, and a normal law has no end
    found = guarantee(parse_case(ONE_POWER + more))
    assert found.highest is None and why in found.reason


def test_milliohms_of_cable_reactance_are_added_to_the_bound():
    # invariant: no sample of the powers passes it; independent: reactance of every conductor times the whole current at most
    text = 'title = "t"\n[supply]\n[[point]]\nname = "house"\ncable = { length = 40, area = 10 }\n' \
        + load("a", "resistive", 2000, "L1-N") + load("b", "resistive", 200, "L2-N") \
        + '[[unknown]]\nload = "b"\npower = { low = 100, high = 3000 }\n'
    case = parse_case(text)
    found = guarantee(case)
    reactance = sum(abs(z.imag) for z in (case.points[0].cable.line,) * 3 + (case.points[0].cable.neutral,))
    current = sum(p / 230**2 for p in (2000, 3000)) * LINE_TO_LINE
    assert LINE_TO_LINE < found.highest < LINE_TO_LINE + 1.1 * reactance * current + 0.3
    assert ranges(case, 512, 1).highest.most < found.highest


def test_a_reading_that_ranges_do_not_use_is_said():
    case = parse_case(ONE_POWER + '[[observation]]\nbetween = "L1-N"\nvoltage = 300\n')
    for told in (ranges_text, ranges_in_short):
        assert "did not narrow these ranges" in " ".join(told(bound(case, 64, 1)).split())


def test_certain_at_the_highest_supply_voltage():
    case = parse_case(ONE_POWER + "[[unknown]]\nsupply_voltage = { low = 220, high = 245 }\n")
    assert guarantee(case).highest == pytest.approx(245 * 3**0.5)  # practice: line to line


def test_influence_of_what_adds_up():
    # independent: the star point of equal loads lies midway between two lines, and the third is 1.5 U from it
    case = parse_case(PAIR + "[[unknown]]\nsupply_voltage = { low = 220, high = 240 }\n"
                      + load("idle", "resistive", 100, "L1-L2") + '[[unknown]]\nload = "idle"\non = 0.5\n')
    first, second = ranges(case, 2048, 1).influences
    assert first.name == "supply voltage" and first.share == pytest.approx(1.0, abs=0.01)
    assert second.share == pytest.approx(0.0, abs=0.01)
    assert first.width == pytest.approx(0.9 * 20 * 1.5, rel=0.02)
    assert first.width_known < first.width / 10
    assert second.width_known == pytest.approx(first.width, rel=0.02)


def test_influence_of_a_switch():
    # independent: star points by closed form, the mean of the lines weighted with their loads; L3 stands highest
    case = parse_case(PAIR + load("c", "resistive", 1000, "L2-N") + '[[unknown]]\nload = "c"\non = 0.25\n')
    found = ranges(case, 1024, 1)
    (switch,) = found.influences
    off, on = switch.parts
    assert (off.share, on.share) == pytest.approx((0.75, 0.25), abs=1e-3)
    v1, v2, v3 = case.supply.phasors.values()
    for part, power in ((off, 500), (on, 1500)):
        highest = abs(v3 - (500 * v1 + power * v2) / (500 + power))
        assert (part.low, part.high) == pytest.approx((highest, highest))
    assert switch.share == pytest.approx(1.0) and switch.width_known == pytest.approx(0.0, abs=1e-9)


def test_several_settled_states_count_alike():
    case = parse_case(HEAD + "".join(load(f"s{n}", "electronic", 100, f"L{n}-N", 'front_end = "corrected"\n') for n in (1, 2, 3))
                      + load("lamp", "lamp", 25, "L1-N") + '[[unknown]]\nload = "lamp"\non = 0.5\n')
    found = ranges(case, 16, 1)
    assert found.several == pytest.approx(1.0) and found.falling == ("s1", "s2", "s3")
    # invariant: with the lamp off, three mirror-image states: each line is the low one in a third of the weight
    assert found.phases[1].chances[0].share == pytest.approx(found.phases[2].chances[0].share, abs=0.02)
    assert found.guarantee.highest is not None  # a conductance at every voltage, whatever its size


CASE = ONE_POWER + '[[unknown]]\nload = "a"\non = 0.6\n'


def run(tmp_path, *arguments):
    file = tmp_path / "case.toml"
    file.write_text(CASE)
    return CliRunner().invoke(main, ["bound", str(file), *arguments])


def test_the_command_tells_all_of_it(tmp_path):
    done = run(tmp_path, "--samples", "256", "--full")
    assert done.exit_code == 0
    for words in ("Range, with the unknown quantities sampled", "Certain, whatever the loads", "can exceed 398 V", "on with a probability of 60 %",
                  "256 samples", "Cautions"):
        assert words in done.stdout


def test_the_same_seed_gives_the_same_file(tmp_path):
    # invariant
    texts = [run(tmp_path, "--samples", "256", "--seed", seed, "--json", "-").stdout for seed in ("4", "4", "5")]
    assert texts[0] == texts[1] != texts[2]
    block = json.loads(texts[0])["ranges"]
    assert block["samples"] == 256 and block["seed"] == 4 and block["scramblings"] == SCRAMBLINGS
    assert {row["line"] for row in block["phases"]} == {"L1", "L2", "L3"}
    assert block["phases"][0]["chances"][0]["limit"]["value"] == 253.0
    assert sum(o["chance"] for o in block["loads"][0]["outcomes"]) == pytest.approx(1.0)


def test_nothing_is_overwritten_and_nothing_half_written(tmp_path, monkeypatch):
    out = tmp_path / "out.json"
    out.write_text("kept")
    assert run(tmp_path, "--json", str(out)).exit_code == 2
    assert out.read_text() == "kept"

    def stopped(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr("lostneutral.evidence.ranges.solve", stopped)
    assert run(tmp_path, "--json", str(tmp_path / "new.json")).exit_code == 130
    assert sorted(p.name for p in tmp_path.iterdir()) == ["case.toml", "out.json"]


def test_a_case_without_unknowns_is_refused(tmp_path):
    file = tmp_path / "case.toml"
    file.write_text(PAIR)
    done = CliRunner().invoke(main, ["bound", str(file)])
    assert done.exit_code == 2 and "Nothing is unknown" in done.stderr


def test_ticks_add_up_to_the_samples():
    for text, size in ((CASE, 100), (CASE + load("tv", "electronic", 120, "L3-N"), 16)):
        told = []
        found = ranges(parse_case(text), size, 1, told.append)
        assert sum(told) == pytest.approx(found.samples)


@pytest.mark.usefixtures("figures_unwritten")
def test_report_and_terminal_say_the_same_and_figures_have_words():
    result = bound(parse_case(CASE), 256)
    made = blocks(result, "investigator")
    start = next(n for n, b in enumerate(made) if b.get("text", "").startswith("Range of voltages"))
    figures = [b for b in made[start:] if b["kind"] == "figure"][:3]
    assert len(figures) == 3
    told = figures[0]["alternative"]
    text = ranges_text(result)
    for s in result.ranges.phases:
        assert f"{s.line} at intake: 5 % at {s.low:.0f} V" in told
        assert f"{s.low:.0f}" in text
    assert all(b["alternative"] and "<svg" in b["svg"] for b in figures)
    assert blocks(replace(result, ranges=None), "investigator") != made


def test_a_star_that_always_floats_is_told_so():
    # practice: one load on an open neutral ties it to its line, so only with none on does it float
    case = parse_case(HEAD + load("a", "resistive", 500, "L1-N", "on = false\n") + '[[unknown]]\nload = "a"\non = 0\n')
    result = bound(case, 16)
    assert result.ranges.highest.middle is None
    assert "the neutral is floating" in " ".join(ranges_text(result).split())
    assert blocks(result, "client")


# Counts, bounds and words

def test_how_many_samples_are_taken():
    # documented: 8192, of many loads 2048, where each state is looked for 256; rounded up to whole sequences of two at least
    unknown = '[[unknown]]\nload = "b"\non = 0.5\n'
    many = parse_case(HEAD + "".join(load(f"x{n}", "resistive", 50, "L1-N") for n in range(20)) + load("b", "resistive", 500, "L2-N") + unknown)
    several = parse_case(PAIR + load("s", "electronic", 50, "L3-N", 'front_end = "corrected"\n') + unknown)
    plain = parse_case(PAIR + unknown)
    assert [sample_count(c) for c in (plain, many, several)] == [8192, 2048, 256]
    assert [sample_count(plain, n) for n in (1, 16, 17, 100)] == [16, 16, 24, 104]


def test_ranges_do_not_depend_on_how_samples_are_cut(monkeypatch):  # invariant: ten of a sequence, whole or eight and two
    case = parse_case(ONE_POWER)
    whole = ranges(case, 80, 2)
    monkeypatch.setattr("lostneutral.evidence.ranges.CHUNK", 64)
    cut = ranges(case, 80, 2)
    assert cut.samples == 80 == len(cut.star) and cut.highest == whole.highest and cut.loads == whole.loads and cut.unsolved == 0


def test_the_star_that_is_drawn_is_the_first_behind_a_break():
    points = '[[point]]\nname = "one"\n[[point]]\nname = "two"\nfed_from = "one"\n'
    loads = load("b", "resistive", 500, "L2-N", 'point = "two"\n') + '[[unknown]]\nload = "b"\non = 0.5\n'
    unknown = '[[unknown]]\nbreak = "two"\nresistance = { low = 1, high = 2 }\n'
    of = lambda more, broken="": _point(parse_case(broken + HEAD + points + loads + more))
    assert of('[[break]]\nfeeding = "two"\n') == "two" and of(unknown, "break = []\n") == "two" and of("", "break = []\n") == "one"
    transformer = HEAD.replace("[supply]\n", '[supply]\ntransformer = { rated_power = 100e3, group = "Dyn5" }\n')
    assert transformer != HEAD and _point(parse_case(transformer + points + loads + '[[break]]\nfuse = "L1"\n')) == "one"  # a fuse before it feeds no point alone


@pytest.mark.parametrize(("volts", "passed"), [
    (253.0, ()), (253.1, ("too high",)), (207.0, ()), (206.9, ("too low",)), (11.6, ("too low",)), (11.4, ("too low", "dead")),
    (398.3, ("too high",)), (398.5, ("too high", "beyond insulation"))])
def test_the_limits_that_a_line_is_held_against(volts, passed):
    # published: EN 50160 within 10 %; 442.3: the line-to-line voltage; 5 % counts as none
    case = parse_case(PAIR)
    tests = _tests(case, band(case.supply.limits), np.array([volts]), 230.0, True)
    assert tuple(words for words, _, test in tests if test[0]) == passed
    assert [words for words, *_ in tests] == ["too high", "beyond insulation", "too low", "dead"]
    assert [words for words, *_ in _tests(case, band(case.supply.limits), np.array([volts]), 230.0, False)] == ["too high", "too low", "dead"]


def test_a_span_of_what_is_never_there_has_no_figures():
    nothing = made_span("a", "L1", np.array([np.nan, 1.0]), np.ones(2), np.zeros(2, int), np.array([True, False]))
    assert (nothing.low, nothing.middle, nothing.errors, nothing.most, nothing.there) == (None, None, (), None, 0.0)


REACTANCE = "[[point]]\nname = \"intake\"\ncable = { line = [0, 0.001], neutral = [0, 0.002] }\n"


@pytest.mark.parametrize(("loads", "amps"), [  # at 1.05 times the widest voltage, by all that may be on at its highest power
    (load("a", "resistive", 1058, "L1-N", "count = 2\n"), 2 * LINE_TO_LINE * 1.05 / 50),
    (load("a", "resistive", 1058, "L1-N", "on = false\n") + load("b", "resistive", 529, "L2-N"), LINE_TO_LINE * 1.05 / 100),
    (load("a", "resistive", 1058, "L1-N", "on = false\n") + '[[unknown]]\nload = "a"\non = 0.1\n', LINE_TO_LINE * 1.05 / 50),
    (load("d", "resistive", 9000, "L1-L2-L3"), 3 * 1.05 * 3000 / LINE_TO_LINE),
    (load("a", "resistive", 100, "L1-N") + '[[unknown]]\nload = "a"\npower = { low = 10, high = 1058 }\n', LINE_TO_LINE * 1.05 / 50)])
def test_reactance_adds_what_the_largest_currents_drop_in_it(loads, amps):
    # closed form: reactance of three lines, the neutral and the protective conductor as it is taken, 7 mohm, times the current of all loads together
    found = guarantee(parse_case(HEAD.replace("[supply]\n", "[supply]\n" + REACTANCE) + loads))
    assert found.highest == pytest.approx(LINE_TO_LINE + 0.007 * amps, rel=1e-6)
    assert f"can add {max(0.007 * amps, 0.1):.1f} V" in found.reason


def test_no_bound_is_certain_where_a_power_has_none_or_the_drop_is_large():
    case = lambda more: parse_case(HEAD.replace("[supply]\n", "[supply]\n" + REACTANCE) + load("a", "resistive", 100, "L1-N") + more)
    open_ = guarantee(case('[[unknown]]\nload = "a"\npower = { mean = 100, deviation = 10 }\n'))
    assert open_.highest is None and "the cable to intake" in open_.reason
    # one twentieth of the widest voltage may be added: 19.9 V, at 7 mohm the current of 2846 A
    edge = lambda share: guarantee(case(load("b", "resistive", share * 230**2 * 0.05 / (1.05 * 0.007) - 100, "L2-N"))).highest
    assert edge(0.99) == pytest.approx(LINE_TO_LINE * (1 + 0.99 * 0.05), rel=1e-6) and edge(1.01) is None
    coils = "".join(load(f"coil {n}", "exponential", 100, "L3-N", "reactive_power = 80\n") for n in range(6))
    assert "load coil 0, load coil 1, load coil 2, 3 more" in guarantee(parse_case(HEAD + coils)).reason
    four = "".join(load(f"coil {n}", "exponential", 100, "L3-N", "reactive_power = 80\n") for n in range(4))
    assert "load coil 3, and inductive" in guarantee(parse_case(HEAD + four)).reason
    off = load("coil", "exponential", 100, "L3-N", "reactive_power = 80\non = false\n")
    assert guarantee(parse_case(PAIR + off)).highest == pytest.approx(LINE_TO_LINE)  # what is off in every sample does nothing


def test_parts_of_an_unknown_in_words():
    one = SimpleNamespace(key="one_of", unknown=Unknown(one_of=("a", "b"), none=0.5))
    number, words = parts_of(one, np.array([0.1, 0.3, 0.6]))
    assert words == ("none of them", "a", "b") and [words[n] for n in number] == ["a", "b", "none of them"]
    ohms = SimpleNamespace(key="resistance", unknown=Unknown(resistance=Spread(0.0001, 10000.0, scale="log")))
    words = parts_of(ohms, np.array([0.5]))[1]
    assert words[0] == "0.0001 to 0.000316 ohm" and words[-1] == "3160 to 10000 ohm" and words[7] == "0.316 to 1 ohm"


PUMP = HEAD + '[[point]]\nname = "pump house"\n' + load("Pump", "motor", 5500, "L1-L2-L3") + load("Heater", "heater", 1000, "L1-N")


def test_what_becomes_of_a_machine_with_a_line_lost_is_that_of_its_sequences():
    """Practice: on two lines a loaded motor runs on, near its rated voltage, and burns out; held to that voltage alone it would be unharmed."""
    case = parse_case(PUMP + '[[break]]\nfeeding = "pump house"\nconductor = "L3"\n[[unknown]]\nload = "Heater"\non = 0.5\n')
    found = bound(case, samples=64)
    (pump,) = [s for s in found.ranges.loads if s.name == "Pump"]
    (verdict,) = [v for v in found.verdicts if v.item == "Pump"]
    fails = sum(o.share for o in pump.outcomes if o.words.startswith("fails") or o.words == "stalls and overheats")
    assert verdict.fails and pump.low > 0.9 * 398.4 and fails > 0.9
