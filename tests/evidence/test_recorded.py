"""Recorded voltages: levels, what they are worth, when the fault began; and what is wrong with a file."""

import sys
from dataclasses import replace
from datetime import datetime, timedelta

import numpy as np
import pytest

from lostneutral import CaseError, analyse, read_case
from lostneutral.case.model import Observation, Recording
from lostneutral.claims.model import Kind
from lostneutral.evidence.deduce import deduce
from lostneutral.evidence.where import where
from lostneutral.report.evidence.recorded import (
    AFTERWARDS,
    calculated_of_case,
    recorded_over_calculated,
    recording_words,
    recordings,
)
from lostneutral.report.evidence.where_text import where_text
from lostneutral.report.screen.short_answers import where_in_short
from lostneutral.studies.beginning import common_change
from lostneutral.studies.levels import gaps, largest_change, levels
from lostneutral.studies.recorded import all_observations, begins

CASE = """title = "A house with a recorder"
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
"""
RECORD = '[[record]]\nfile = "{}.csv"\nbetween = "{}"\naveraging = 60\n'


def made(mean, deviation, correlation, number, seed=1):
    """Values about a mean that remember the one before."""
    random, rest = np.random.default_rng(seed), [0.0]
    for _ in range(number - 1):
        rest.append(correlation * rest[-1] + deviation * (1 - correlation**2) ** 0.5 * random.standard_normal())
    return mean + np.array(rest)


def recording(values, **more):
    return Recording("m.csv", "", "house", ("L1", "N"), tuple(60.0 * np.arange(1, len(values) + 1)), tuple(values), 60.0, **more)


def test_correlated_values_do_not_count_as_many():
    # closed form: the variance of a mean of n values with correlation r is about (1 + r) / (1 − r) / n
    plain, alike = (levels(recording(made(230, 2.0, r, 400)))[0] for r in (0.0, 0.9))
    assert plain.error == pytest.approx(2.0 / 400**0.5, rel=0.12)  # 400 values give a deviation to 3.5 %, and a correlation to 5 %
    assert alike.error > 2 * plain.error


@pytest.mark.parametrize("correlation", [0.0, 0.3])
@pytest.mark.parametrize("seed", range(4))
def test_every_level_is_found_of_a_voltage_that_rises_returns_and_falls(correlation, seed):
    # closed form: the levels put in, with values of one volt about them; the first change alone explains little
    lengths, volts = (30, 20, 40, 25, 30), (230.0, 260.0, 230.0, 204.0, 210.0)
    found = levels(recording(np.repeat(volts, lengths) + made(0.0, 1.0, correlation, sum(lengths), seed)))
    for end, length, value in zip(np.cumsum(lengths), lengths, volts):
        (level,) = [x for x in found if x.start < 60.0 * (end - length / 2) <= x.end]
        assert level.mean == pytest.approx(value, abs=2.0)
        assert any(abs(x.end - 60.0 * end) <= 60.0 for x in found)


def test_a_change_is_found_where_it_was():
    values = np.concatenate([made(230, 1.0, 0.3, 300), made(262, 1.0, 0.3, 100, 2)])
    before, after = largest_change(recording(values))
    assert (before.end + after.start) / 2 == pytest.approx(300 * 60, abs=120)
    assert (before.mean, after.mean) == pytest.approx((230, 262), abs=1)
    assert largest_change(recording(made(230, 1.0, 0.3, 300))) is None


@pytest.mark.parametrize(("number", "at"), [(6, 3), (20, 10), (300, 41), (60_000, 41_237)])
def test_a_step_lies_between_the_two_values_about_it(number, at):  # put in
    values = made(230.0, 0.5, 0.0, number) + 60.0 * (np.arange(number) >= at)
    found = common_change((Recording("m.csv", "", "house", ("L1", "N"), tuple(map(float, range(number))), tuple(values)),))
    assert not found.slow and at - 1 < found.start < at and found.earliest <= at - 1 and found.latest >= at - 0.25 and found.latest < at + 2


def test_a_step_is_timed_within_the_mean_in_which_it_falls():  # closed form: means of 600 s, 230 V before and 290 V after 12 345 s
    times = 600.0 * np.arange(1, 61)
    share = np.clip((times - 12_345.0) / 600.0, 0.0, 1.0)
    found = common_change((Recording("m.csv", "", "house", ("L1", "N"), tuple(times), tuple(230.0 + 60.0 * share + made(0.0, 0.3, 0.0, 60)), 600.0),))
    assert found.earliest <= 12_345 <= found.latest and found.latest - found.earliest <= 600 and abs(found.start - 12_345) <= 150


def test_what_held_before_and_after_is_clear_of_the_change(tmp_path):  # put in: no value between the two is in either mean
    text = CASE + '[[record]]\nfile = "one.csv"\nbetween = "L1-N"\n'
    (tmp_path / "case.toml").write_text(text)
    (tmp_path / "one.csv").write_text("time,voltage\n" + "\n".join(f"{n},{230 if n < 8 else 114}" for n in range(16)) + "\n")
    seen = all_observations(read_case(tmp_path / "case.toml"))
    assert [(o.voltage, o.details["state"]) for o in seen] == [(230.0, "before"), (114.0, "after")]


def written(folder, before, after, error=0.0, more=""):
    """A case with two meters of a day; the recorder's clock is `error` s fast."""
    for name, low, high in (("one", before, after[0]), ("two", before, after[1])):
        values = np.concatenate([made(low, 1.0, 0.5, 200), made(high, 1.0, 0.5, 100, 2)])
        rows = "\n".join(f"{60 * (n + 1) + error:g},{v:.2f}" for n, v in enumerate(values))
        (folder / f"{name}.csv").write_text(f"time,voltage\n{rows}\n")
    clock = f"clock_error = {error}\nclock_deviation = 20\n"
    text = CASE + RECORD.format("one", "L1-N") + clock + more + RECORD.format("two", "L2-N") + clock + more
    (folder / "case.toml").write_text(text)
    return read_case(folder / "case.toml")


@pytest.mark.parametrize("error", [0.0, 600.0])
def test_a_day_of_two_meters_tells_what_happened(tmp_path, error):
    # closed form: N lost, two resistors in series between two lines
    volts = 230 * 3**0.5 * np.array([400, 1000]) / 1400
    case = written(tmp_path, 229.0, volts, error)
    assert begins(case) == pytest.approx(200 * 60, abs=180)
    seen = all_observations(case)
    assert sorted(o.details["state"] for o in seen) == ["after", "after", "before", "before"]
    assert deduce(case, 128).rivals[0].kind == "open neutral" and where(case).outcomes[0].place.kind == "open neutral"


def test_a_recorder_fitted_afterwards_says_nothing(tmp_path):
    case = written(tmp_path, 229.0, (114, 285), more='fitted = "after"\n')
    assert not all_observations(case) and begins(case) is None


@pytest.mark.parametrize(("change", "fault"), [
    (lambda text: text.replace('file = "one.csv"', 'file = "none.csv"'), "is not there"),
    (lambda text: text.replace('between = "L1-N"', 'between = "L1-N"\nvoltage_column = "U"'), "has no column"),
    (lambda text: text.replace('between = "L1-N"', 'between = "L1-N"\nzone = "here"'), "is no time zone"),
    (lambda text: text.replace('between = "L1-N"', 'between = "L1-X"'), "is not a pair of terminals")])
def test_what_is_wrong_with_a_record_is_said(tmp_path, change, fault):
    written(tmp_path, 229.0, (114, 285))
    text = (tmp_path / "case.toml").read_text()
    (tmp_path / "case.toml").write_text(change(text))
    with pytest.raises(CaseError) as raised:
        read_case(tmp_path / "case.toml")
    assert any(fault in str(f) for f in raised.value.faults) and "case.toml:" in str(raised.value)


def in_a_workbook(folder, sheet="log"):
    """The case of two meters with the first as a workbook, its second sheet, times as dates."""
    import openpyxl

    written(folder, 229.0, (114, 285))
    rows = (folder / "one.csv").read_text().splitlines()[1:]
    book = openpyxl.Workbook()
    page = book.create_sheet(sheet)
    page.append(["when", "U"])
    for row in rows:
        seconds, volts = map(float, row.split(","))
        page.append([datetime(2025, 1, 1) + timedelta(seconds=seconds), volts])
    book.save(folder / "one.xlsx")
    text = (folder / "case.toml").read_text().replace(
        'file = "one.csv"', 'file = "one.xlsx"\nsheet = "log"\ntime_column = "when"\nvoltage_column = "U"\nzero = "2025-01-01T00:00:00"', 1)
    (folder / "case.toml").write_text(text)
    return folder / "case.toml"


def test_a_workbook_says_what_its_csv_file_says(tmp_path):  # invariant
    plain = written(tmp_path, 229.0, (114, 285)).recordings[0]
    read = read_case(in_a_workbook(tmp_path)).recordings[0]
    assert read.volts == plain.volts and read.times == pytest.approx(plain.times, abs=1e-3)


def test_without_the_reader_of_workbooks_it_is_said_what_to_do(tmp_path, monkeypatch):
    file = in_a_workbook(tmp_path)
    monkeypatch.setitem(sys.modules, "openpyxl", None)
    with pytest.raises(CaseError) as raised:
        read_case(file)
    said = str(raised.value)
    assert "openpyxl" in said and "lostneutral[desk]" in said and "CSV" in said


def test_a_sheet_that_is_not_there_and_a_workbook_that_is_none_are_said(tmp_path):
    file = in_a_workbook(tmp_path, "other")
    with pytest.raises(CaseError, match="has no sheet"):
        read_case(file)
    (tmp_path / "one.xlsx").write_bytes(b"PK no zip")
    with pytest.raises(CaseError, match="cannot be read as a workbook"):
        read_case(file)


def with_a_gap(folder, more=""):
    case = written(folder, 229.0, (114, 285), more=more)
    rows = (folder / "one.csv").read_text().splitlines()
    (folder / "one.csv").write_text("\n".join(rows[:51] + rows[91:]) + "\n")
    return read_case(folder / "case.toml") if case else None


def test_gaps_are_found_and_drawn_over_what_is_calculated(tmp_path):
    case = with_a_gap(tmp_path)
    assert gaps(case.recordings[0]) == ((50 * 60, 91 * 60),) and not gaps(case.recordings[1])
    result = analyse(case)
    section = recordings(result)
    text, alternative = next((b["svg"], b["alternative"]) for b in section if b["kind"] == "figure")
    assert text.count('id="recorded') >= 3 and "1 gap" in alternative and "calculated from" in alternative
    # closed form: N lost, two resistors in series between two lines
    held = calculated_of_case(result)
    assert [round(s.middle) for s in held[0]] == pytest.approx([230, 114], abs=3)
    assert [round(s.middle) for s in held[1]] == pytest.approx([230, 285], abs=3)


def test_recordings_are_held_against_the_calculation_without_anything_unknown(tmp_path):  # rule 7 of the claims
    result = analyse(written(tmp_path, 229.0, (114, 285)))
    found = [c for c in result.claims if c.kind is Kind.OBSERVED]
    assert len(found) == 4 and all(c.facts["agrees"] for c in found)
    wrong = analyse(written(tmp_path, 229.0, (180, 285)))
    assert [c.facts["agrees"] for c in wrong.claims if c.kind is Kind.OBSERVED].count(False) == 1


def test_a_recorder_fitted_afterwards_is_marked_so(tmp_path):
    case = written(tmp_path, 229.0, (114, 285), more='fitted = "after"\n')
    assert all(AFTERWARDS in words for words in recording_words(case))
    assert AFTERWARDS in recorded_over_calculated(case, {}, "nothing")[1]
    assert not [c for c in analyse(case).claims if c.kind is Kind.OBSERVED]
    case = replace(case, observations=(Observation("house", ("L1", "N"), 114.0, 4.0),))
    found = where(case)
    for told in (where_text, where_in_short):
        assert " ".join(told(case, found).split()).count(AFTERWARDS) == 2  # in the answer, of each
