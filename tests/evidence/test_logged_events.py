"""Events that an instrument logged: what they say, when and under which condition; what is wrong with a log is said.

Kind of the expectations: closed form where a voltage or a share is compared, else practice.
"""

from dataclasses import replace
from pathlib import Path

import pytest
from drawn import drawn

from lostneutral import CaseError, analyse, read_case
from lostneutral.claims.model import Kind
from lostneutral.evidence.deduce import deduce
from lostneutral.evidence.where import where
from lostneutral.report.evidence.recorded import (
    AFTERWARDS,
    beginning_words,
    calculated_of_case,
    recorded_over_calculated,
    recording_words,
)
from lostneutral.report.evidence.rows import log_rows
from lostneutral.studies.beginning import recorded_beginning
from lostneutral.studies.recorded import all_observations, begins

CASEBOOK = Path(__file__).parents[2] / "casebook"
CASE = """title = "A house with an inverter"
[supply]
voltage = 230
earthing = "TN-S"
[[point]]
name = "house"
cable = { length = 30, area = 10 }
[[load]]
name = "A"
kind = "resistive"
connect = "L1-N"
power = 1000
[[load]]
name = "B"
kind = "resistive"
connect = "L2-N"
power = 400
[[record]]
file = "log.csv"
between = "L2-N"
event_column = "event"
events = [
  { word = "U>", bound = "more than", voltage = 253 },
  { word = "U>>", bound = "more than", voltage = 276 },
  { word = "U< L1", bound = "up to", voltage = 207, between = "L1-N" },
  { word = "U ok", bound = "more than", voltage = 207 },
  { word = "U ok", bound = "up to", voltage = 253 },
  { word = "start" },
]
"""
LOG = ((0, "start"), (1000, "U ok"), (5000, "u>> 285 V"), (5001, "U< L1"), (5300, "U>"), (5600, "U> again"), (9000, "Start 2"))


def case_of(folder, rows=LOG, text=CASE, head="time,event"):
    (folder / "log.csv").write_text("\n".join([head, *(",".join(map(str, row)) for row in rows)]) + "\n")
    (folder / "case.toml").write_text(text)
    return read_case(folder / "case.toml")


def said(case):
    return {("-".join(o.between), o.details["bound"], o.voltage): (o.details["state"], o.details["times"]) for o in all_observations(case)}


def test_each_event_says_what_its_longest_word_says(tmp_path):
    assert said(case_of(tmp_path)) == {
        ("L2-N", "more than", 207.0): ("before", (1000.0,)), ("L2-N", "up to", 253.0): ("before", (1000.0,)),
        ("L2-N", "more than", 276.0): ("after", (5000.0,)), ("L1-N", "up to", 207.0): ("after", (5001.0,)),
        ("L2-N", "more than", 253.0): ("after", (5300.0, 5600.0))}


def test_the_order_of_rows_and_a_clock_that_was_fast_change_nothing(tmp_path):  # invariant
    fast = [(t + 600, words) for t, words in reversed(LOG)]
    assert said(case_of(tmp_path, fast, CASE + "clock_error = 600\n")) == said(case_of(tmp_path))


def test_a_thousand_events_count_once(tmp_path):  # invariant: the same bound under one condition is one observation
    few, many = (case_of(tmp_path, [(0, "start"), *((5000 + 5 * n, "U>") for n in range(number)), (20000, "start")]) for number in (2, 1000))
    assert len(all_observations(few)) == len(all_observations(many)) == 1
    shares = [{w.words: w.posterior for w in deduce(case, 128).rivals} for case in (few, many)]
    assert shares[0] == pytest.approx(shares[1])


def test_events_decide_what_it_was(tmp_path):
    # closed form: N lost, two resistors in series between two lines, 114 V on the larger and 285 V on the smaller
    case = case_of(tmp_path)
    assert where(case).leading.place.kind == "open neutral" and deduce(case, 128).rivals[0].kind == "open neutral"
    agrees = {c.about.name: c.facts["agrees"] for c in analyse(case).claims if c.kind is Kind.OBSERVED}
    assert agrees == {"L1-N": True, "L2-N": True}
    wrong = case_of(tmp_path, [(0, "start"), (5000, "U>"), (6000, "low")], CASE.replace('word = "start"', 'word = "low", bound = "up to", voltage = 200 },'
                                                                                       ' { word = "start"'))
    found = [c for c in analyse(wrong).claims if c.kind is Kind.OBSERVED]
    assert {c.facts["bound"]: c.facts["agrees"] for c in found} == {"more than": True, "up to": False}


def test_one_event_long_before_does_not_say_when_it_began(tmp_path):
    alone = [(600, "U>"), *((50000 + 300 * n, "U>") for n in range(8)), (80000, "start")]
    case = case_of(tmp_path, [(0, "start"), *alone])
    assert begins(case) == 50000
    assert [o.details["state"] for o in all_observations(case)] == ["before", "after"]


def test_voltages_say_when_and_an_event_says_it_closer(tmp_path):
    # means of ten minutes; the fault at 36 250 s, the event 5 s later
    rows = [(600 * n, 230.0 + n % 2 if n <= 60 else 285.0 + n % 2, "") for n in range(1, 121)]
    rows[60] = (36600, round((250 * 230 + 350 * 285) / 600, 1), "")
    text = CASE + "averaging = 600\n"
    alone = recorded_beginning(case_of(tmp_path, [(*row[:2], "start") for row in rows[:1]] + rows[1:], text, "time,voltage,event"))
    assert alone.earliest < 36250 < alone.latest and not alone.slow
    both = case_of(tmp_path, [*rows[:60], (36255, "", "U>>"), *rows[60:]], text, "time,voltage,event")
    found = recorded_beginning(both)
    assert found.latest == 36255 and found.start <= 36255 and found.earliest == alone.earliest
    after = [o for o in all_observations(both) if o.details["state"] == "after"]
    assert {o.details.get("bound") for o in after} == {None, "more than"}


def test_events_near_a_switching_are_left_out(tmp_path):
    event = '[[event]]\ntime = 5300\nload = "A"\non = false\n'
    text = CASE + "clock_deviation = 20\n" + event
    assert ("L2-N", "more than", 253.0) in said(case_of(tmp_path, text=text))
    times = said(case_of(tmp_path, text=text))["L2-N", "more than", 253.0][1]
    assert times == (5600.0,)  # that of 5300 s was made as the load was switched, give or take a minute


def test_events_are_drawn_and_told(tmp_path):
    case = case_of(tmp_path)
    svg, text = recorded_over_calculated(case, calculated_of_case(analyse(case)), "the fault")
    assert svg.count('id="logged') == 6 and "“U>” (L2-N more than 253 V) 2 times" in text and "L1-N calculated" in text
    (words,) = recording_words(case)
    assert "7 events" in words and "“start” says nothing of a voltage" in words
    assert any("more than 253 V logged" in row[0] and "2 times" in row[1] for row in log_rows(case))
    assert "they do not say" in beginning_words(case)[0]


def test_a_log_of_what_was_fitted_afterwards_says_nothing(tmp_path):
    case = case_of(tmp_path, text=CASE + 'fitted = "after"\n')
    assert not all_observations(case) and begins(case) is None and AFTERWARDS in recording_words(case)[0]
    assert AFTERWARDS in recorded_over_calculated(case, {}, "nothing")[1]


@pytest.mark.parametrize(("text", "rows", "faults"), [
    (CASE, [(0, "start"), (1, "Fault 7"), (2, "bus"), (3, "Fault 7")], ['"Fault 7", "bus"', "row 3"]),
    (CASE.replace('event_column = "event"', 'event_column = "what"'), LOG, ['has no column "what"', '"time", "event"']),
    (CASE.replace('event_column = "event"', ""), LOG, ["does not apply here", "a record with event_column"]),
    (CASE.replace('"U>", bound = "more than", ', '"U>", '), LOG, ['"U>" has voltage without bound']),
    (CASE.replace('"U>", bound = "more than", voltage = 253', '"U>", bound = "up to"'), LOG, ['"U>" has bound without voltage']),
    (CASE.replace('word = "start"', 'word = "u>", bound = "more than", voltage = 300'), LOG, ["is explained twice"]),
    (CASE.replace('between = "L1-N" }', 'between = "L1-X" }'), LOG, ["is not a pair of terminals"]),
    (CASE, [(0, "")], ["0 voltages"]),
    (CASE.replace('between = "L2-N"', 'between = "L2-N"\nvoltage_column = "U"'), LOG, ['has no column "U"'])])
def test_what_is_wrong_with_a_log_is_said_where_it_stands(tmp_path, text, rows, faults):
    with pytest.raises(CaseError) as raised:
        case_of(tmp_path, rows, text)
    message = str(raised.value)
    assert "case.toml:" in message
    for fault in faults:
        assert fault in message


def test_the_log_of_the_toll_house_decides_between_its_cables():
    case = read_case(CASEBOOK / "toll-house.toml")
    assert where(case).leading.place.feeding == "toll house"
    assert where(replace(case, recordings=())).leading is None
    assert "2025-03-12 11:32" in beginning_words(case)[0]  # 12:32:25 by a clock that was an hour fast


def test_the_axis_has_the_time_of_day_and_its_date():  # 700 minutes after midnight are 11:40
    (axes,) = drawn(recorded_over_calculated, read_case(CASEBOOK / "toll-house.toml"), {}, "nothing")
    assert axes.get_xlabel().startswith("time of day, from 2025-03-12 11:30 on\n") and axes.xaxis.get_major_formatter()(700.0) == "11:40"
    assert [x.get_gid() for x in axes.lines].count("logged") == 10
