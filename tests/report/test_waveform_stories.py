"""The casebook's stories of loads that draw pulses come out as they are told. Kind of all checks: practice."""

import pytest
from casebook_results import FOLDER, result

from lostneutral import read_case
from lostneutral.consequences.waves import CUT, OVER
from lostneutral.report.base.rows import outer_limits
from lostneutral.report.waveform import rows as waveform_rows
from lostneutral.report.waveform import words as waveform_words


def told(name):
    return result(name).case, result(name).waveforms


@pytest.mark.parametrize("name", ["map-office"])  # named, so that it runs where the case has been worked out
def test_the_map_office_reads_as_usual_on_an_open_neutral(name):
    case, waves = told(name)
    low, high = outer_limits(case)
    for wave in waves.after.phases.values():
        assert low < wave.rms < high
    links = waveform_rows.link_rows(case, waves)
    assert all(row.runs and row.after < 0.92 * row.before for row in links)
    star = waves.after.stars["floor board"]
    assert 40 < star.rms < 50 and star.harmonics[2] > 0.9 * star.rms
    powers = waveform_words.line_powers(case)
    assert max(powers.values()) < sum(powers.values()) / 2


@pytest.mark.parametrize("name", ["fan-heater"])  # named, so that it runs where the case has been worked out
def test_the_fan_heater_tears_the_same_star_apart(name):
    case, waves = told(name)
    assert waveform_words.line_powers(case) == waveform_words.line_powers(read_case(FOLDER / "map-office.toml"))
    assert [row.verdict for row in waveform_rows.link_rows(case, waves)] == [
        CUT, OVER, OVER]


@pytest.mark.parametrize("name", ["full-neutral"])  # named, so that it runs where the case has been worked out
def test_the_full_neutral_carries_root_three_times_the_line(name):
    case, waves = told(name)
    (row,) = waveform_rows.neutral_rows(case, waves)
    assert row.current / row.line == pytest.approx(3**0.5, rel=1e-3)
    assert row.third > 0.9 * row.current
