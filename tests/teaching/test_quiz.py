"""What a statement of the quiz rests on, at stated readings: 2 % of nominal, or of a sum, is the same to a class's meters. Kind: arithmetic."""

from types import SimpleNamespace

import pytest

from lostneutral.teaching.quiz import facts, statements


def bench(now=(30.0, 24.0, 18.0), amps=(1.0, 2.0, 3.0), neutral=1.7, shift=6.0, pair=41.0, rated=(10.0, 20.0, 30.0), lines=("L1", "L2", "L3"),
          largest=2.5, fuse=3.15, system="three-phase", out="link out"):
    """Readings of 24 V to N before, `now` after; the line currents before are `amps`, half of them after."""
    was = dict.fromkeys(lines, 24.0)
    then, first = dict(zip(lines, now)), dict(zip(lines, amps)) | {"N": neutral}
    before = SimpleNamespace(name="before")
    after = SimpleNamespace(name="after", nodes={("bench", "N"): shift}, voltage=lambda point, a, b: 41.57 if {a, b} == set(lines[:2]) else pair)
    return SimpleNamespace(
        case=SimpleNamespace(supply=SimpleNamespace(lines=("L1", "L2", "L3") if system == "three-phase" else ("L1", "L2"))), lines=lines, volts=24.0,
        states=(before, after), before=before, after=after, volt=lambda line, s: was[line] if s is before else then[line],
        amps=lambda line, s: first[line] if s is before else first[line] / 2, rated=dict(zip(lines, rated)), system=system, largest_current=largest,
        fuse=fuse, out=out)


@pytest.fixture(autouse=True)
def point(monkeypatch):
    monkeypatch.setattr("lostneutral.teaching.quiz.POINT", "bench")


def test_readings_of_unequal_loads():
    holds, words = facts(bench())
    assert holds == {"always": True, "never": False, "two": True, "alike": False, "unequal": True, "alike_all": False, "smallest_highest": True,
                     "plain_sum": False, "fuses_carry": True, "adds_up": False, "moved": True, "no_neutral_current": False, "keeps": False}
    assert [words[key] for key in ("Out", "nominal", "volts_out", "amps_out", "first", "second", "between")] == [
        "With the link out", 24.0, "L1 30.0 V, L2 24.0 V, L3 18.0 V", "L1 0.500 A, L2 1.00 A, L3 1.50 A", "L1", "L2", "41.6"]
    assert [words[key] for key in ("lightest", "lightest_volts", "highest", "plain", "neutral", "most_amps", "shift")] == [
        "L1", "30.0", "L1", "6.00 A", "1.70 A", "1.50 A", "6.0"]
    assert [words[key] for key in ("heavy", "light", "heavy_volts", "light_volts", "pair")] == ["L3", "L1", "18.0", "30.0", "41.0"]
    assert words["adding"] == "Phasors 120° apart add head to tail." and words["fuse"] == 3.15
    assert facts(bench(out="resistor in"))[1]["Out"] == "With the resistor in place of the link"


EQUAL = {"now": (24.0, 24.0, 24.0), "amps": (2.0, 2.0, 2.0), "rated": (20.0, 20.0, 20.0), "neutral": 0.0, "shift": 0.0}


@pytest.mark.parametrize(("fact", "held", "lost"), [  # 2 % of 24 V is 0.48 V, of 6 A 0.12 A
    ("alike", {"now": (24.0, 24.47, 24.0)}, {"now": (24.0, 24.49, 24.0)}),
    ("keeps", {"now": (23.53, 24.47, 24.0)}, {"now": (23.51, 24.0, 24.0)}),
    ("moved", {"shift": 0.49}, {"shift": 0.47}),
    ("no_neutral_current", {"neutral": 0.119}, {"neutral": 0.121}),
    ("plain_sum", {"neutral": 5.881}, {"neutral": 5.879}),
    ("adds_up", {"pair": 47.53}, {"pair": 47.51}),
    ("fuses_carry", {"largest": 3.14}, {"largest": 3.15}),
    ("alike_all", {"rated": (20.0, 20.1, 20.0)}, {"rated": (20.0, 20.3, 20.0)}),
    ("unequal", {"rated": (20.0, 20.3, 20.0)}, {"rated": (20.0, 20.1, 20.0)}),
    ("smallest_highest", {"rated": (20.0, 20.0, 10.0)}, {"rated": (20.0, 20.0, 10.0), "now": (25.0, 24.0, 24.0)}),
    ("two", {}, {"lines": ("L1",)})])
def test_a_fact_holds_up_to_its_edge(fact, held, lost):
    assert facts(bench(**EQUAL | held))[0][fact] is True
    assert facts(bench(**EQUAL | lost))[0][fact] is False


def test_two_loads_of_three_lines_are_not_all_of_them():
    assert facts(bench(**EQUAL))[0]["alike_all"] is True
    assert facts(bench(**EQUAL | {"lines": ("L1", "L2")}))[0]["alike_all"] is False
    assert facts(bench(**EQUAL | {"lines": ("L1", "L2"), "system": "split-phase"}))[0]["alike_all"] is True
    assert facts(bench(**EQUAL | {"lines": ("L1", "L2"), "system": "split-phase"}))[1]["adding"] == "The two are in antiphase and subtract."


def test_a_current_of_nothing_is_told_as_none():
    assert facts(bench(**EQUAL | {"neutral": 0.005}))[1]["neutral"] == facts(bench(**EQUAL))[1]["neutral"]  # a thousandth of 6 A is 6 mA
    assert facts(bench(**EQUAL | {"neutral": 0.007}))[1]["neutral"] != facts(bench(**EQUAL))[1]["neutral"]


def test_only_what_is_asked_for_such_loads_is_asked_and_answered_by_its_fact():
    said = {s.says: (s.true, s.because) for s in statements(bench())}
    assert said["With the link out, all loads have the same voltage."] == (
        False, "L1 30.0 V, L2 24.0 V, L3 18.0 V. The loads share the voltage between the lines, and unequal loads share it unequally.")
    assert said["With the link out, the load of the smallest rated power has the highest voltage."] == (
        True, "L1: 30.0 V. A small load has a high resistance.")
    assert not any("neutral carries no current" in text for text in said)
    equal = {s.says: s.true for s in statements(bench(**EQUAL))}
    assert equal["With the link in, the neutral carries no current."] is True and not any("smallest rated power" in text for text in equal)
