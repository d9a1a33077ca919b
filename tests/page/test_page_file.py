"""The page as a file, and the commands that write it: no browser is needed."""

import json
import re
from dataclasses import replace
from math import inf
from types import SimpleNamespace

import pytest
from click.testing import CliRunner
from daily import daily
from page_cases import CASEBOOK, LAMPS, bare, html, star

from lostneutral import analyse, parse_case, read_case
from lostneutral.case.model import Load, Point
from lostneutral.circuit.states import before_and_after
from lostneutral.cli import main
from lostneutral.consequences.cautions import cautions
from lostneutral.errors import UsageError
from lostneutral.page import page_html
from lostneutral.page.content import _points, _wiring, content, palettes
from lostneutral.page.lumped import MOST, lumped

LARGEST = 400_000  # bytes, in one language
HOSTILE = "</script><img src=x onerror=alert(1)><!-- ${7*7} \u2028 \"quoted\" 'single' & <b>"


def held(page):
    return json.loads(re.search(r'<script type="application/json" id="held">(.*?)</script>', page, re.DOTALL).group(1))


@pytest.mark.parametrize("name", daily(["bakery", "row-of-cottages", "full-neutral"]))
def test_it_is_one_small_file_that_names_no_other(name):
    page = html(name) if name == "full-neutral" else bare(name)
    assert len(page.encode()) < LARGEST
    assert not re.search(r"https?://(?!www\.w3\.org/)", page.split('id="held">')[0] + page.split("</script>")[-2])
    assert "default-src 'none'" in page and "unsafe" not in page


def test_texts_of_the_case_stay_texts():
    loads = tuple(replace(load, name=f"{n}{HOSTILE}") for n, load in enumerate(LAMPS.loads))
    page = page_html(analyse(replace(LAMPS, title=HOSTILE, description=HOSTILE, loads=loads)))
    assert page.count("</script>") == 2 and page.count("<script") == 2
    assert held(page)["title"] == HOSTILE and held(page)["loads"][0]["name"] == f"0{HOSTILE}"


def test_every_caution_is_in_it_in_both_forms():
    case = read_case(CASEBOOK / "farm-lane.toml")
    found = held(bare("farm-lane"))["cautions"]
    assert found == {"short": list(cautions(case, "short")), "full": list(cautions(case))}


def test_like_loads_are_taken_together_and_a_street_at_one_place():
    case = read_case(CASEBOOK / "row-of-cottages.toml")
    taken = lumped(case)
    assert len(case.loads) > MOST >= len(taken.loads)

    def rated(c):
        return sum(load.count * load.parameters["power"] for load in c.loads if load.on)

    assert rated(taken) == rated(case)  # invariant: nothing that is on is lost
    electrode = taken.point("cottage joint 6").electrode
    behind = [p for p in case.points if p.electrode and int(p.name.split()[-1]) >= 6]
    assert electrode == pytest.approx(60.0 / len(behind))  # independent: as many alike in parallel
    assert lumped(LAMPS) is LAMPS


def test_the_lumped_street_is_near_the_whole_one():
    """Independent: every cable solved. What the lumped point leaves out is said on the page with these figures."""
    case = read_case(CASEBOOK / "row-of-cottages.toml")
    whole, taken = (before_and_after(c)[1].reached for c in (case, lumped(case)))
    for line in case.supply.lines:
        assert abs(taken.voltage("cottage joint 6", line)) == pytest.approx(abs(whole.voltage("cottage joint 6", line)), abs=3.0)


def test_more_different_loads_than_there_is_room_for_are_refused():
    loads = tuple(Load(f"lamp {n}", "lamp", ("L1", "N"), "intake", 230.0, parameters={"power": 20.0 + n}) for n in range(MOST + 1))
    with pytest.raises(UsageError, match="at most 24"):
        page_html(analyse(replace(LAMPS, loads=loads)))


@pytest.mark.parametrize("name", ["sixty-houses"])
def test_loads_taken_together_keep_a_name_each(name):
    page = held(html(name))
    names = [load["name"] for load in page["loads"]]
    assert len(set(names)) == len(names) and "Cooker (L1-N) 1" in names


@pytest.mark.parametrize("name, fault", [("hay-barn", "loss of a phase"), ("bad-joint", "high-resistance joint in the neutral"), ("full-neutral", "")])
def test_the_fault_is_named_and_none_is_no_loss_of_neutral(name, fault):
    assert held(html(name))["fault"] == fault


def test_a_second_supply_is_refused_by_name():
    case = read_case(CASEBOOK / "farm-generator.toml")
    with pytest.raises(UsageError, match=f"no second supply \\({case.generators[0].name}\\): use analyse, follow or report"):
        content(SimpleNamespace(case=case, waveforms=None))


def test_colours_by_country():
    found = palettes()
    assert len(found) > 8 and all(len(p) == 3 for p in found.values())
    page = held(page_html(analyse(LAMPS), colours="US"))
    assert page["palettes"][page["palette"]]["L1"][1] == "black"  # published: practice there
    assert held(page_html(analyse(LAMPS), colours="UK"))["palette"].startswith("IEC 60445")


def run(*arguments):
    return CliRunner().invoke(main, list(map(str, arguments)))


def test_explore_writes_a_page_and_no_file_twice(tmp_path):
    place, case = tmp_path / "page.html", CASEBOOK / "three-unequal-lamps.toml"
    assert run("explore", case, "-o", place, "--class").exit_code == 0
    assert held(place.read_text("utf-8"))["class"] is True
    assert run("explore", case, "-o", place).exit_code == 2
    assert run("explore", case, "-o", place, "--force").exit_code == 0
    assert run("explore", case, "-o", "-").stdout.lower().startswith("<!doctype html>")


def test_explore_without_a_file_opens_the_browser(monkeypatch):
    opened = []
    monkeypatch.setattr("webbrowser.open", lambda place: opened.append(place) or True)
    assert run("explore", CASEBOOK / "three-unequal-lamps.toml").exit_code == 0
    assert opened[0].startswith("file://") and opened[0].endswith("three-unequal-lamps.html")


def test_what_is_withdrawn_says_what_to_use():
    said = run("explore", CASEBOOK / "bakery.toml", "--still", "x.png")
    assert said.exit_code == 2 and "explore CASE -o page.html" in said.output


def test_report_adds_a_page(tmp_path):
    made = run("report", CASEBOOK / "three-unequal-lamps.toml", "-o", tmp_path / "r.pdf", "--page", tmp_path / "p.html")
    assert made.exit_code == 0 and held((tmp_path / "p.html").read_text("utf-8"))["class"] is False


def test_a_sound_case_and_one_without_loads_behind_have_a_page():
    assert held(page_html(analyse(star("lamp", 60.0, breaks=()))))["joint"]["given"] == 0.0
    two = replace(LAMPS, points=(Point("intake"), Point("board", fed_from="intake")),
                  breaks=(replace(LAMPS.breaks[0], feeding="board", resistance=inf),))
    assert held(page_html(analyse(two)))["points"][0]["name"] == "board"


def test_the_page_opens_behind_the_joint_where_loads_stand():
    names = "".join(f'[[point]]\nname = "{name}"\nfed_from = "{feeder}"\n' for name, feeder in (("near", "supply"), ("b", "near"), ("c", "b"), ("d", "b")))
    loads = "".join(f'[[load]]\nname = "{at}"\nkind = "lamp"\nconnect = "L1-N"\npower = 60\npoint = "{at}"\n' for at in ("near", "c"))
    case = parse_case(f'title = "t"\n[supply]\n{names}[[break]]\nfeeding = "b"\n{loads}')
    # behaviour laid down: with loads behind it, behind it without, before it; a point with neither is not shown
    assert [(p["name"], p["behind"]) for p in _points(case, "b", _wiring(case, "b")[1])] == [("c", True), ("b", True), ("near", False)]
