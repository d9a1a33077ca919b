"""The data files against the figures as printed in the sources they name; kind and place stand beside each."""

from math import inf, isnan, sqrt

import pytest

from lostneutral.consequences.limits import band, band_names
from lostneutral.data import KNOWN, load
from lostneutral.verify.checks import topic

# Name: +% and −% as printed beside the volts (which are checks of the data files), nominal, code; tolerance is half of the last
# printed digit of the volts.
BANDS = {
    "EN 50160": (-10, 10, 230, "2", 0.05),
    "IEC 60038": (-10, 10, 230, "2", 0.5),
    "IEC 60038 until 2003, former 220/380 V systems": (-10, 6, 230, "2", 0.05),
    "IEC 60038 until 2003, former 240/415 V systems": (-6, 10, 230, "2", 0.05),
    "United Kingdom": (-6, 10, 230, "2", 0.05),
    "United Kingdom 1994": (-6, 10, 230, "S", 0.05),
    "BS 7671": (-6, 10, 230, "M", 0.05),
    "ANSI C84.1 Range A service": (-5, 5, 120, "2", 0.5),
    "ANSI C84.1 Range A utilisation": (-10, 5, 120, "M", 0.5),
    "ANSI C84.1 Range B service": (-8.3, 5.8, 120, "2", 0.5),
    "ANSI C84.1 Range B utilisation": (-13.3, 5.8, 120, "2", 0.5),
    "Australia AS 60038": (-6, 10, 230, "2", 0.05),
    "Australia AS 61000.3.100": (-6, 10, 230, "2", 0.5),
    "New Zealand": (-6, 6, 230, "2", 0.05),
    "India 230 V": (-6, 6, 230, "2", 0.5),
    "India 240 V": (-6, 6, 240, "2", 0.5),
}
PRINTED = {check.given["name"]: check.printed for check in topic("supply_bands").checks}


@pytest.mark.parametrize("name", BANDS)
def test_band_as_printed_in_volts_and_in_per_cent(name):
    minus, plus, nominal, known, digit = BANDS[name]
    low, high = float(PRINTED[name]["low"]), float(PRINTED[name]["high"])
    found = band(name)
    assert found.nominal == nominal
    assert (found.low * nominal, found.high * nominal) == pytest.approx((low, high))
    # The sources print per cent too: volts and per cent must be the same rule, to the coarser rounding.
    assert nominal * (1 + minus / 100) == pytest.approx(low, abs=digit + 0.005 * 230 * (minus % 1 != 0))
    assert nominal * (1 + plus / 100) == pytest.approx(high, abs=digit + 0.005 * 230 * (plus % 1 != 0))
    assert found.known == KNOWN[known]


def test_every_band_is_checked_above():
    assert sorted(band_names()) == sorted(BANDS) == sorted(PRINTED)


@pytest.mark.parametrize("name", band_names())
def test_only_en_50160_has_an_outer_band(name):  # published, secondary: EN 50160:2010 cl. 4.2.2, +10/-15 % for all values
    found = band(name)
    assert (found.low_outer * found.nominal, found.high_outer * found.nominal) == pytest.approx(
        (195.5, 253.0) if name == "EN 50160" else (found.low * found.nominal, found.high * found.nominal))
    assert found.low < 1 < found.high


# IEC 60364-4-44:2007: clauses secondary; √3 follows from the lines, 1.45 and 250 V memory, 1200 V for 5 s secondary;
# arithmetic for U0 = 230 V printed to 0.1 V
@pytest.mark.parametrize(("entry", "volts", "known"), [
    ("loss_of_neutral", 398.4, "D"), ("insulated_line_earthed", 398.4, "D"),
    ("short_circuit_line_to_neutral", 333.5, "M"),
    ("high_voltage_earth_fault_long", 480.0, "M"), ("high_voltage_earth_fault_short", 1430.0, "2")])
def test_stress_of_iec_60364_4_44(entry, volts, known):
    found = load("stress")[entry]
    factor = found.get("factor", 1.0)
    assert 230.0 * factor + found.get("added", 0.0) == pytest.approx(volts, abs=0.05)
    assert found["value"] == volts
    assert (found["known"], found.get("clause_known", "2")) == (known, "2")


def test_loss_of_neutral_factor_at_the_top_of_the_band():  # arithmetic: 253 V supply, 438.2 V; split-phase 240 V
    stress = load("stress")
    assert 253.0 * stress["loss_of_neutral"]["factor"] == pytest.approx(438.2, abs=0.05)
    assert 120.0 * stress["loss_of_neutral_split_phase"]["factor"] == 240.0


def test_other_stress_from_memory():  # EN 50160:1999-2010; IEC 60034-1 cl. 7.3: memory; IEC 60664-1: secondary
    stress = load("stress")
    assert stress["temporary_overvoltage"]["value"] == 440.0
    assert stress["temporary_overvoltage_from_high_voltage"]["value"] == 1500.0
    assert (stress["unbalance"]["value"], stress["unbalance"]["value_in_some_areas"]) == (0.02, 0.03)
    assert [(z["low"] * 230, z["high"] * 230) for z in stress["motor_zone"]] == [
        pytest.approx((218.5, 241.5)), pytest.approx((207.0, 253.0))]
    assert stress["impulse_withstand"]["system_230_400"] == [1500, 2500, 4000, 6000]
    assert stress["impulse_withstand"]["system_120_240"] == [800, 1500, 2500, 4000]


# EN 50550:2011: 275 V/3 s and 400 V/0.20 s secondary, the rest memory
@pytest.mark.parametrize(("volts", "earliest", "latest", "codes"),
                         [(275, 3.0, 15.0, "2M"),
                          (300, 1.0, 5.0, "MM"), (350, 0.25, 0.75, "MM"), (400, 0.07, 0.20, "M2")])
def test_overvoltage_device_as_printed(volts, earliest, latest, codes):
    device = load("protection")["overvoltage_device"]
    point = next(p for p in device["points"] if p["voltage"] == volts)
    assert (point["not_before"], point["latest"]) == (earliest, latest)
    assert point["known_not_before"] + point["known_latest"] == codes
    assert device["never_acts_at"] == 255.0


def test_iti_curve_as_printed():  # secondary: ITI (CBEMA) curve 2000; 0.01 cycle of 60 Hz = 0.167 ms
    curve = load("protection")["iti_curve"]
    assert curve["upper"][0] == [pytest.approx(0.01 / 60, rel=0.001), 5.0]
    assert curve["upper"][1:] == [[0.001, 2.0], [0.003, 1.4], [0.003, 1.2], [0.5, 1.2], [0.5, 1.1]]
    assert curve["lower"] == [[0.02, 0.0], [0.02, 0.7], [0.5, 0.7], [0.5, 0.8], [10.0, 0.8], [10.0, 0.9]]


def test_surge_device_tests():  # IEC 61643-11:2011 Table B.1: factors and times secondary, volts arithmetic
    device = load("protection")["surge_device"]
    low_voltage_fault, lost_neutral = device["tests"]
    for test in device["tests"]:
        assert test["factor"] * device["reference_230"] == pytest.approx(test["value_230"], abs=0.05)
        assert test["factor"] * device["reference_120"] == pytest.approx(test["value_120"], abs=0.05)
    # published, data sheets: 335 and 440 V on 230 V, 180 and 230 V on 120 V, each rounded its own way
    assert [t["value_230"] for t in device["tests"]] == [pytest.approx(335, abs=2), pytest.approx(440, abs=2)]
    assert [t["value_120"] for t in device["tests"]] == [pytest.approx(180, abs=6), pytest.approx(230, abs=2)]
    assert (low_voltage_fault["value_230"], low_voltage_fault["seconds"]) == (336.6, 5.0)
    assert (lost_neutral["value_230"], lost_neutral["seconds"]) == (441.7, 120 * 60)
    assert lost_neutral["factor"] == pytest.approx(sqrt(3))
    assert (device["neutral_to_earth"]["value"], device["neutral_to_earth"]["seconds"]) == (1200.0, 0.2)
    continuous = load("protection")["surge_device_continuous"]
    assert continuous["factor"] * 230 == pytest.approx(253.0)  # secondary: IEC 60364-5-53 Table 53C, 1.1 U0


def test_open_pen_rule():  # secondary: BS 7671:2018 reg. 722.411.4.1
    rule = load("protection")["open_pen_device"]
    assert (rule["earth_limit"], rule["disconnect_within"], rule["need_not_act_before"]) == (70.0, 5.0, 4.0)
    assert (rule["low"], rule["high"]) == (207.0, 253.0)
    # arithmetic: electrode for 40 A at 230 V, 2.52 ohm, from U0 RA / (RA + U0 / I) = 70 V
    assert 70.0 * 230.0 / (40.0 * (230.0 - rule["earth_limit"])) == pytest.approx(2.52, abs=0.005)


def test_disconnection_times_as_printed():  # secondary: IEC 60364-4-41:2005 Table 41.1
    times = load("protection")["disconnection_times"]
    assert times["columns"] == [120, 230, 400, inf]
    assert times["tn"] == [0.8, 0.4, 0.2, 0.1]
    assert times["tt"] == [0.3, 0.2, 0.07, 0.04]
    assert times["tn_dc"][1:] == [5.0, 0.4, 0.1]
    assert times["tt_dc"][1:] == [0.4, 0.2, 0.1]
    assert isnan(times["tn_dc"][0]) and isnan(times["tt_dc"][0])
    assert (times["distribution_tn"], times["distribution_tt"]) == (5.0, 1.0)


def test_touch_limits():
    # IEC 60364-4-41, secondary; France, arrêté of 15 December 1988, article 2, read: 25, 50, 60, 120 V
    touch = load("touch")
    assert (touch["limit_normal"]["value"], touch["limit_special"]["value"], touch["open_pen"]["value"]) == (50, 25, 70)
    assert (touch["limit_normal"]["value_dc"], touch["limit_special"]["value_dc"]) == (120, 60)
    assert (touch["limit_normal"]["known"], touch["limit_special"]["known"]) == ("2", "S")


@pytest.mark.parametrize("table", load("touch")["body_impedance"], ids=lambda t: t["name"])
def test_body_impedance_falls_with_voltage_and_rises_with_the_share_of_people(table):  # invariant
    for column in (1, 2, 3):
        values = [row[column] for row in table["rows"]]
        assert values == sorted(values, reverse=True)
    assert all(row[1] < row[2] < row[3] for row in table["rows"])
    assert [row[0] for row in table["rows"]] == sorted(row[0] for row in table["rows"])


def test_shock_zones():  # IEC TS 60479-1: ends of the curves and factors secondary, 400 and 50 mA memory
    touch = load("touch")
    zones = touch["zones"]
    assert (zones["perception_ma"], zones["curve_b_short_ma"], zones["curve_b_long_ma_2005"]) == (0.5, 200.0, 5.0)
    assert zones["curve_c1"] == [[0.01, 500], [0.1, 400], [1.0, 50], [3.0, 40]]
    # published: M. Mitolo, Electrical Safety of Low-Voltage Systems (2009), Table 5.1: the ten factors
    factors = {key: value for key, value in zones["heart_current_factor"].items() if isinstance(value, float)}
    assert factors == {"left_hand_to_feet": 1.0, "hand_to_hand": 0.4, "hands_to_feet": 1.0, "right_hand_to_feet": 0.8,
                       "chest_to_left_hand": 1.5, "chest_to_right_hand": 1.3, "back_to_left_hand": 0.7,
                       "back_to_right_hand": 0.3, "seat_to_hands": 0.7, "foot_to_foot": 0.04}


DURATIONS = {check.given["table"]: check.printed for check in topic("touch").checks if check.ask == "touch time"}
"""Published, read at the source: France, arrêté of 25 October 1991 and of 15 December 1988, article 2 each."""


@pytest.mark.parametrize("table", load("touch")["duration"], ids=lambda t: t["name"])
def test_longest_times_as_the_laws_print_them(table):
    assert table["points"] == [[float(volts), float(seconds)] for volts, seconds in DURATIONS[table["name"]].items()]
    assert table["known"] == "S" and len(load("touch")["duration"]) == len(DURATIONS)
    times = [t for _, t in table["points"]]
    assert times == sorted(times, reverse=True)  # invariant: more volts, less time
