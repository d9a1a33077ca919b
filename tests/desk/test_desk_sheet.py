"""The field sheet: what it saves makes the case; what is damaged or hostile is refused with words. Kind: independent, invariant."""

import base64
import json
import re
import tomllib

import pytest
from click.testing import CliRunner
from desk_cases import ITEMS, SHOP, SHOP_DATA, finish, without_items
from test_desk_pictures import picture

from lostneutral.cli import main
from lostneutral.desk.case import DeskCase
from lostneutral.desk.sheet import FORMAT, case_of_sheet, is_sheet, read_sheet, sheet_html, take
from lostneutral.desk.store import read_draft
from lostneutral.errors import UsageError


def saved(**more):
    """Return the file of a sheet with the corner shop's items."""
    items = [{"id": str(n), "what": w.what, "name": w.name, "power": w.power, "count": w.count, "point": w.point, "connect": w.connect,
              "on": w.on or "on", "fate": ""} for n, w in enumerate(ITEMS)]
    return json.dumps({"format": FORMAT, "title": "At the shop", "note": "", "boards": "", "items": items, "readings": [], "photos": []} | more
                      ).encode()


def test_what_a_sheet_saved_makes_the_case():
    case = DeskCase(without_items(), str(SHOP))
    assert take(case, read_sheet(saved())) == "15 items, 0 readings, 0 photographs"
    finish(case)
    assert tomllib.loads(case.text) == SHOP_DATA


def test_readings_boards_and_photographs_come_along_as_one_step(tmp_path):
    case = DeskCase(name=str(tmp_path / "new.toml"))
    photo = {"file": "p.jpg", "caption": "The joint", "item": "0", "data": "data:image/jpeg;base64," + base64.b64encode(picture()).decode()}
    words = take(case, read_sheet(saved(readings=[{"point": "shop board", "between": "L3-N", "voltage": "327 V", "loads": "on"}],
                                        photos=[photo, photo | {"data": "data:,x", "caption": "bad"}])))
    made = case.check().case
    assert "left out: bad" in words and made.title == "At the shop" and made.photos[0].load == "Till"
    assert [p.name for p in made.points] == ["intake", "shop board", "kitchen board", "back room board"]
    assert made.observations[0].voltage == 327
    case.undo()
    assert not case.can_undo and not case.entries("load")


@pytest.mark.parametrize("content", [
    b"{", b"[]", b'{"format": "other"}', json.dumps({"format": FORMAT, "items": 3}).encode(), json.dumps({"format": FORMAT, "items": [3]}).encode(),
    json.dumps({"format": FORMAT, "items": [{}] * 2001}).encode(), b"[" * 100_000])
def test_a_damaged_sheet_is_refused_with_words(content):
    with pytest.raises(UsageError, match="field sheet"):
        read_sheet(content)


def test_values_of_any_kind_become_text():
    held = read_sheet(saved(title={"x": 1}, items=[{"what": ["a"], "name": 5, "power": None, "__proto__": True}]))
    assert held["title"] == "" and held["items"][0]["name"] == "5" and held["items"][0]["what"] == ""


def test_a_sheet_opens_as_a_draft_of_a_case_beside_it(tmp_path):
    (tmp_path / "shop.sheet.json").write_bytes(saved())
    target = case_of_sheet((tmp_path / "shop.sheet.json").resolve())
    assert target.name == "shop.toml" and not target.exists() and "Fan heater" in read_draft(target).text
    (tmp_path / "x.json").write_text("{}")
    with pytest.raises(UsageError, match="neither"):
        case_of_sheet(tmp_path / "x.json")


def test_the_sheet_is_one_file_that_fetches_nothing(tmp_path):
    said = CliRunner().invoke(main, ["desk", "--sheet", "-o", str(tmp_path / "s.html")])
    assert said.exit_code == 0
    html = (tmp_path / "s.html").read_text("utf-8")
    assert html == sheet_html() and "default-src 'none'" in html and not re.search(r"(src|href)=[\"']?(?!data:)\w", html.split("<script")[0])
    assert CliRunner().invoke(main, ["desk", "--sheet"]).exit_code == 2
    assert CliRunner().invoke(main, ["desk", "-o", "x.pdf"]).exit_code == 2
    assert not is_sheet(html.encode()) and is_sheet(saved())


@pytest.mark.browser
def test_noted_on_a_phone(visit, tmp_path):
    (tmp_path / "joint.png").write_bytes(picture((400, 300), "PNG"))
    page = visit(sheet_html(), viewport={"width": 390, "height": 844}, has_touch=True, accept_downloads=True)
    page.get_by_label("Title of the case").fill("Ferry Lane 4")
    page.get_by_label("Boards, one a line").fill("intake\nkitchen")
    for what, power, board in (("kettle", "2.2 kW", "kitchen"), ("telly", "", "intake")):
        page.get_by_role("button", name="Add an item").click()
        card = page.locator("#items .card").last
        card.get_by_label("What is it").fill(what)
        card.get_by_label("Plate: power").fill(power)
        card.get_by_label("Board").fill(board)
        card.get_by_label("Line").select_option("L2-N")
    page.locator("#items .card").last.get_by_label("Seen afterwards").select_option("burnt")
    page.get_by_role("button", name="Add a reading").click()
    card = page.locator("#readings .card")
    for tap in ("N", "L2"):
        card.get_by_role("button", name=tap, exact=True).tap()
    card.get_by_label("Where").fill("kitchen")
    card.get_by_label("Reading, V").fill("301")
    page.locator("#photo").set_input_files(tmp_path / "joint.png")
    page.locator("#photos .card").get_by_label("Item").select_option(label="kettle")
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    with page.expect_download() as got:
        page.get_by_role("button", name="Save to one file").click()
    assert got.value.suggested_filename == "Ferry-Lane-4.sheet.json"
    content = got.value.path().read_bytes()
    case = DeskCase(name=str(tmp_path / "case.toml"))
    assert take(case, read_sheet(content)) == "2 items, 1 reading, 1 photograph"
    made = case.check().case
    assert [(x.name, x.point, x.connect) for x in made.loads] == [("Kettle", "kitchen", ("L2", "N")), ("Telly", "intake", ("L2", "N"))]
    assert made.observations[0].seen == "failed" and made.observations[1].between == ("L2", "N") and made.photos[0].load == "Kettle"
    (tmp_path / "again.json").write_bytes(content)
    page.locator("#open").set_input_files(tmp_path / "again.json")
    assert page.locator("#items .card").count() == 2
