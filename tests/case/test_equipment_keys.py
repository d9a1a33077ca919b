"""The keys of ceramic heaters, electronic loads, motors, varistors and appliances. Kind of all checks: the case format."""

import pytest
from faulty_cases import HEAD

from lostneutral.case.reader import parse_case
from lostneutral.errors import CaseError

ELECTRONIC = """power = 100
front_end = "corrected"
power_factor = 0.9
works_from = 85
works_to = 305
restarts_from = 100
capacitance = 1e-4
capacitor_rating = 450
protection = 275"""
MOTOR = """power = 120
power_factor = 0.8
power_exponent = 0.77
reactive_exponent = 2.5
valid_from = 0.9
valid_to = 1.1
stalls_below = 0.55"""


def case(kind, keys=""):
    return f'{HEAD}[[load]]\nname = "x"\nconnect = "L1-N"\nkind = "{kind}"\n{keys}\n'


@pytest.mark.parametrize(("kind", "keys", "parameters"), [
    ("ptc_heater", "power = 1500\nswitch_temperature = 200", {"power": 1500.0, "switch_temperature": 200.0}),
    ("electronic", ELECTRONIC,
     {"power": 100.0, "front_end": "corrected", "power_factor": 0.9, "works_from": 85.0, "works_to": 305.0,
      "restarts_from": 100.0, "capacitance": 1e-4, "capacitor_rating": 450.0, "protection": 275.0}),
    ("electronic", 'power = 8\nprotection = "none"', {"power": 8.0, "protection": "none"}),
    ("motor", MOTOR,
     {"power": 120.0, "power_factor": 0.8, "power_exponent": 0.77, "reactive_exponent": 2.5, "valid_from": 0.9,
      "valid_to": 1.1, "stalls_below": 0.55}),
    ("varistor", "rating = 275\ndiameter = 14", {"rating": 275.0, "diameter": 14.0}),
    ("appliance", 'model = "kettle"\npower = 3000', {"model": "kettle", "power": 3000.0})])
def test_every_key_is_kept_as_given(kind, keys, parameters):
    (load,) = parse_case(case(kind, keys)).loads
    assert (load.kind, load.parameters) == (kind, parameters)


@pytest.mark.parametrize(("kind", "keys", "words"), [
    ("appliance", 'model = "ketle"', 'load[1].model: "ketle" is not in the catalogue'),
    ("appliance", 'model = "ketle"', 'did you mean "kettle"?'),
    ("appliance", "", "load[1].model: is missing"),
    ("appliance", 'model = "kettle"\nrating = 275', 'rating: does not apply to "kettle", whose kind is heater'),
    ("appliance", 'model = "kettle"\nelement_temperature = 60', "60 is not hotter than the water"),
    ("appliance", 'model = "television"\nworks_to = 60', "works_to: 60 is not above works_from, 90"),
    ("appliance", 'model = "television"\npower = "much"', "load[1].power: \"much\" is text"),
    ("electronic", "power = 100\nworks_from = 200\nworks_to = 100", "works_to: 100 is not above works_from, 200"),
    ("electronic", "power = 100\nworks_from = 300", "works_to: is missing"),
    ("electronic", "power = 100\nrestarts_from = 50", "restarts_from: 50 is below works_from, 90"),
    ("electronic", 'power = 100\nprotection = "some"', '"none", or the varistor\'s continuous rating'),
    ("electronic", 'power = 100\nfront_end = "corected"', 'did you mean "corrected"?'),
    ("electronic", "power = 100\npower_factor = 1.2", "1.2 is too large"),
    ("motor", "power = 100\nstalls_below = 60", "stalls_below: 60 is too large"),
    ("motor", "power = 100\nvalid_from = 1.1\nvalid_to = 0.9", "0.9 is not above valid_from, 1.1"),
    ("varistor", "power = 100\nrating = 275", "power: unknown key"),
    ("varistor", "", "rating: is missing"),
    ("ptc_heater", "power = 100\nswitch_temperature = 5", "5 is too small")])
def test_what_is_refused(kind, keys, words):
    with pytest.raises(CaseError) as caught:
        parse_case(case(kind, keys))
    assert words in str(caught.value)
