"""The catalogue of appliances as a table, one by one and as JSON, of entries put in by hand. Kind of all: behaviour laid down."""

import json

import pytest

from lostneutral import data
from lostneutral.loads.catalogue import Appliance
from lostneutral.report.damage import appliances

KETTLE = Appliance("kettle", "heater", {"power": 2000.0}, "boiling", "its element", "A book", "P", "2nd edition", power_range=(1800.0, 3000.0), exponent=(2.0, 2.0, 2.0))
RADIO = Appliance("old wireless", "electronic", {"power": 30.5, "front_end": "rectifier"}, "on", "its transformer", "Another book", "2", exponent=(1.5, 1.2, 1.8),
                  sources={"power": {"source": "A plate", "known": "P"}})
BARE = Appliance("bell", "resistive", {}, "ringing", "its coil", "None", "A")


@pytest.fixture(autouse=True)
def three(monkeypatch):
    monkeypatch.setattr(appliances, "appliances", lambda: (KETTLE, RADIO, BARE))


def test_the_table_has_power_and_exponent_in_columns():
    told = appliances.catalogue_text(400).split("\n")
    assert told[:5] == ["appliance        W       usual W  kind        exponent",
                        "------------  ----  ------------  ----------  -------------------",
                        "kettle        2000  1800 to 3000  heater      2.00",
                        "old wireless  30.5                electronic  1.50 (1.20 to 1.80)",
                        "bell                              resistive"]
    assert told[5] == "" and told[6].startswith("Exponent: near rated voltage") and told[7:] == [""]
    assert max(map(len, appliances.catalogue_text(60).split("\n")[6:])) <= 60


def test_one_appliance_in_words():
    told = appliances.appliance_text(RADIO, 400).split("\n")
    assert told[:2] == ["old wireless", "============"] and told[-1] == ""
    assert 'In a case: kind = "appliance", model = "old wireless"; the same as kind = "electronic", power = 30.5, front_end = "rectifier"' in told
    assert "Exponent: power varies with voltage to the power of 1.50 (1.20 to 1.80)" in told and "Source: Another book" in told
    assert f"Source of power: A plate ({data.KNOWN['P']})" in told and not any(line.startswith("Usual power") for line in told)
    kettle = appliances.appliance_text(KETTLE, 400).split("\n")
    assert "Usual power: 1800 to 3000 W" in kettle and "Source: A book (2nd edition)" in kettle and "Exponent: no measurement" in appliances.appliance_text(BARE, 400)
    lines = appliances.appliance_text(RADIO, 50).split("\n")
    assert max(map(len, lines)) <= 50 and any(line.startswith("  ") for line in lines)


def test_the_catalogue_for_programs():
    text = appliances.catalogue_json([KETTLE, RADIO])
    made = json.loads(text)
    assert text.startswith('{\n "format": "lostneutral-appliances/1",\n "appliances"') and text.endswith("}\n")
    kettle, radio = made["appliances"]
    assert (kettle["name"], kettle["known"], kettle["parameters"], kettle["exponent"]) == ("kettle", data.KNOWN["P"], {"power": 2000.0}, [2.0, 2.0, 2.0])
    assert radio["sources"] == {"power": {"source": "A plate", "known": "P"}}
