"""`lostneutral loads`. Kind of all checks: behaviour laid down."""

import json

from click.testing import CliRunner

from lostneutral.cli import main
from lostneutral.loads.catalogue import appliances


def run(*arguments):
    return CliRunner().invoke(main, ["loads", *arguments])


def test_lists_every_appliance():
    shown = run()
    assert shown.exit_code == 0
    for item in appliances():
        assert any(line.startswith(item.name + " ") and f" {item.kind}" in line for line in shown.output.splitlines())


def test_explains_one_with_source_and_how_known():
    shown = " ".join(run("microwave oven").output.split())
    for words in ("power varies with voltage to the power of 1.19 (1.15 to 1.22)", "0.82 at 120 V (read in a secondary",
                  "read at the source", 'model = "microwave oven"', "Q. Tao", "high-voltage capacitor"):
        assert words in shown


def test_every_appliance_can_be_explained():
    for item in appliances():
        shown = run(item.name)
        assert shown.exit_code == 0
        assert shown.output.startswith(f"{item.name}\n===")


def test_json_holds_all(tmp_path):
    rows = json.loads(run("--json", "-").output)
    assert rows["format"] == "lostneutral-appliances/1"
    assert [row["name"] for row in rows["appliances"]] == [item.name for item in appliances()]
    file = tmp_path / "one.json"
    assert run("kettle", "--json", str(file)).exit_code == 0
    (row,) = json.loads(file.read_text(encoding="utf-8"))["appliances"]
    assert (row["parameters"], row["known"]) == ({"power": 2000.0, "cooling": "water"}, "read at the source")
    assert run("--json", str(file)).exit_code == 2  # not overwritten


def test_unknown_name():
    shown = run("ketle")
    assert shown.exit_code == 2
    assert 'Did you mean "kettle"?' in shown.output
