"""Which picture a result rests on, kind `harmonic` and a rectifier's inlet in the case file, and what the files then hold.

Kinds: behaviour laid down for the command line and the result file; invariants, as said at each.
"""

import json

import pytest
from click.testing import CliRunner
from daily import daily

from lostneutral import analyse, parse_case, result_json
from lostneutral.circuit.waveform import parts, picture
from lostneutral.claims.model import Kind, Rank
from lostneutral.claims.waves import waves as wave_claims
from lostneutral.cli import main
from lostneutral.errors import CaseError, NoSolutionError
from lostneutral.report.screen.terminal import terminal_text
from lostneutral.words.english import said as in_words

HEAD = 'title = "An office"\n[supply]\nearthing = "TN-S"\n'
PLAIN = HEAD + "".join(f'[[load]]\nname = "heater {line}"\nkind = "resistive"\nconnect = "{line}-N"\npower = {watts}\n'
                       for line, watts in (("L1", 200), ("L2", 100)))


def supplies(*watts, **keys):
    more = "".join(f"{key} = {value}\n" for key, value in keys.items())
    return HEAD + "".join(
        f'[[load]]\nname = "supply {n}"\nkind = "electronic"\nfront_end = "rectifier"\nconnect = "L{n}-N"\npower = {p}\n{more}'
        for n, p in enumerate(watts, 1))


def claims(result, *kinds):
    return [c for c in result.claims if c.kind in kinds]


@pytest.fixture(scope="module")
def held():
    return analyse(parse_case(supplies(60, 60, 60)))


@pytest.fixture(scope="module")
def forced():
    return analyse(parse_case(PLAIN), waveforms=True)


def test_the_result_rests_on_waveforms_where_pulses_matter(held):
    data = json.loads(result_json(held))
    assert data["picture"] == "waveforms" and data["waveforms"]["trusted"] is True
    after, block = data["states"][1]["solutions"][0], data["waveforms"]["states"][1]
    # invariant: `voltage` is the true r.m.s. value, in the states and in the block
    for phase, wave in zip(after["points"][0]["phases"], block["points"][0]["phases"]):
        assert phase["voltage"] == pytest.approx(wave["voltage"]["rms"])
    assert after["residual"] is None  # of phasors; waveforms have none
    sines = data["sine_wave_states"][1]
    assert sines["solutions"][0]["points"][0]["phases"] != after["points"][0]["phases"]
    assert not claims(held, Kind.RECTIFIERS) and not any(c["kind"] == Kind.RECTIFIERS.value for c in data["claims"])
    assert len(block["loads"][0]["voltage"]["harmonics"]) == 40


def test_the_screen_says_which_picture_and_why(held):
    said = " ".join(terminal_text(held).split())
    assert "Waveforms: rectifier and harmonic loads carry 100" in said
    assert "The figures below are those of the waveforms" in said
    for word in ("average-responding", "crest", "THD", "third harmonic", "drops out at"):
        assert word in said


def test_asked_for_they_agree_with_the_phasors_of_a_linear_case(forced):
    # independent: the phasor solver, 1e-6
    data = json.loads(result_json(forced))
    assert data["picture"] == "waveforms" and "were asked for" in data["waveforms"]["why"]
    for state, sines in zip(data["states"], data["sine_wave_states"]):
        for load, other in zip(state["solutions"][0]["loads"], sines["solutions"][0]["loads"]):
            assert load["voltage"] == pytest.approx(other["voltage"], rel=1e-6)
            assert load["power"] == pytest.approx(other["power"], rel=1e-6)


def test_without_pulses_nothing_changes():
    result = analyse(parse_case(PLAIN))
    data = json.loads(result_json(result))
    assert result.waveforms is None and data["picture"] == "sine waves"
    assert "waveforms" not in data and "sine_wave_states" not in data


def test_the_flag_forces_them(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "plain.toml").write_text(PLAIN, encoding="utf-8")
    run = CliRunner().invoke(main, ["analyse", "plain.toml", "--waveforms", "--full"])
    assert run.exit_code == 0 and "waveforms were asked for" in " ".join(run.stdout.split())


def test_too_many_are_followed_only_when_asked_for(monkeypatch):
    monkeypatch.setattr(parts, "too_many_pulses", lambda case: True)
    result = analyse(parse_case(supplies(60, 60)))
    assert result.waveforms is None
    (lost,) = claims(result, Kind.NOT_FOLLOWED)
    assert (lost.rank, lost.facts["why"]) == (Rank.WARNING, "waveforms") and "--waveforms asks for it" in lost.facts["text"]
    assert claims(result, Kind.RECTIFIERS)


@pytest.mark.thorough
def test_the_phasors_stay_where_no_course_can_be_followed(monkeypatch):
    def fail(case, **_):
        raise NoSolutionError("the course breaks off")
    monkeypatch.setattr(picture, "waveforms", fail)
    result = analyse(parse_case(supplies(60, 60)))
    assert result.waveforms is None and result.after.solutions
    (lost,) = claims(result, Kind.NOT_FOLLOWED)
    assert "the course breaks off" in lost.facts["text"] and "the course breaks off" in in_words(lost, result.case).lead


@pytest.mark.parametrize(("keys", "sure"), daily([
    ({}, "capacitance and inlet resistance assumed"), ({"capacitance": 3e-4, "inlet_resistance": 1.0}, "as good as the values given")], several=True))
def test_what_the_star_hangs_on_says_what_is_assumed(keys, sure, held):
    result = analyse(parse_case(supplies(60, 60, 60, **keys))) if keys else held
    (told,) = claims(result, Kind.SUPPLIES)
    assert sure in told.because


@pytest.mark.parametrize(("watts", "keys", "cut", "words", "limit"), daily([
    ((60, 60, 60), {}, (), "would keep the phase voltages near normal although the neutral is open", 120.0),
    ((50, 60, 200), {"capacitance": 3e-4, "inlet_resistance": 1.0}, ("supply 3",), "would collapse (unbalanced): supply 3", 110.0),
    ((100, 50, 55), {"capacitance": 1e-4, "inlet_resistance": 1.0}, None, "small or unequal capacitors", 105.0)], several=True), ids=str)
def test_what_became_of_the_star_is_held_against_the_rule(watts, keys, cut, words, limit):
    # derived: what the other two lines take together; what comes of it is in test_rectifier_star
    case = parse_case(supplies(*watts, **keys))
    waves = picture.waveforms(case, steps=96)
    (found,) = [c for c in wave_claims(case, waves) if c.kind is Kind.SUPPLIES]
    assert words in in_words(found, case).message and found.yardstick.value == pytest.approx(limit)
    assert (found.value, found.unit, found.facts["line"]) == (max(watts), "W", f"L{watts.index(max(watts)) + 1}")
    assert found.yardstick.edge == ("high" if max(watts) > limit else "reference")
    assert found.facts["within_rule"] is (max(watts) <= limit)
    assert cut is None or tuple(name for name, _ in found.facts["cut"]) == cut
    links = [load.link for load in waves.after.loads]
    rated = 400.0  # the default
    assert found.rank is (Rank.DAMAGE if any(low > 130 and high > rated for _, low, high in links) else Rank.WARNING)


def test_what_kinds_of_meter_show_is_a_claim(held):
    (found,) = claims(held, Kind.METERS)
    wave = max(held.waveforms.after.phases.values(), key=lambda w: abs(w.average_reading / w.rms - 1))
    assert (found.facts["rms"], found.facts["average"], found.facts["crest"]) == (wave.rms, wave.average_reading, wave.crest)
    for volts in (wave.rms, wave.average_reading, wave.crest):
        assert f"{volts:.0f} V" in in_words(found, held.case).lead
    assert found.value == pytest.approx(wave.crest / wave.rms) and found.value < 1.3  # practice: flattened crests
    assert found.yardstick.value == pytest.approx(2**0.5) and found.rank is Rank.NOTE


def test_a_sine_deceives_no_meter(forced):
    assert not claims(forced, Kind.METERS, Kind.SUPPLIES)


def test_a_full_neutral_is_found_before_the_break(held):
    (full,) = claims(held, Kind.FULL_NEUTRAL)
    assert full.yardstick.value == pytest.approx(3**0.5) and (full.rank, full.condition.stage) == (Rank.WARNING, "before")
    # closed form: √3 at most, where the pulses do not overlap; the ninth and later odd thirds fill the rest
    assert 1.5 < full.value <= 1.74 and 0.8 * full.facts["amps"] < full.facts["third"] < full.facts["amps"]


def harmonic(**keys):
    more = "".join(f"{key} = {value}\n" for key, value in keys.items())
    return HEAD + f'[[load]]\nname = "a"\nkind = "harmonic"\nconnect = "L1-N"\npower = 230\n{more}'


def test_a_harmonic_load_draws_the_spectrum_it_is_given():
    # invariant: 230 W at 230 V is 1 A of fundamental; shares of it are the harmonics, whose squares add up
    case = parse_case(harmonic(orders=[3, 5], shares=[0.5, 0.25]) + "[[break]]\nconductor = \"N\"\nfeeding = \"intake\"\n"
                      "resistance = 0\n")
    wave = analyse(case).waveforms.before.loads[0].current
    assert wave.harmonics[:5] == pytest.approx([1.0, 0.0, 0.5, 0.0, 0.25], abs=1e-6)
    assert wave.rms == pytest.approx((1 + 0.25 + 0.0625) ** 0.5, rel=1e-6)


@pytest.mark.parametrize(("keys", "fault"), [
    ({"orders": [3, 3], "shares": [1.0, 0.5]}, "load[1].orders[2]: 3 is already given"),
    ({"orders": [1], "shares": [1.0]}, "load[1].orders[1]: 1 is too small"),
    ({"orders": [3], "shares": [1.0, 2.0]}, "load[1].shares: has 2 values for 1 orders"),
    ({"orders": [3]}, "load[1].shares: is missing"),
    ({"angles": [0.0]}, "load[1].angles: is given without orders"),
    ({"orders": []}, "load[1].orders: [] has 0 entries")])
def test_a_spectrum_that_cannot_be(keys, fault):
    with pytest.raises(CaseError) as raised:
        parse_case(harmonic(**keys))
    assert any(fault in str(f) for f in raised.value.faults)


def test_an_inlet_belongs_to_a_rectifier():
    with pytest.raises(CaseError) as raised:
        parse_case(supplies(100, leakage=1e6, bridge_drop=1.0).replace('"rectifier"', '"corrected"'))
    assert [str(f).split(": ")[1] for f in raised.value.faults] == ["load[1].leakage", "load[1].bridge_drop"]  # in file order
