"""Lists that are pasted or brought, by small ones: columns, units, shares of cells from which on a column is known. Kind of all: behaviour laid down."""

import io

import openpyxl
import pytest
from desk_cases import SMALL

from lostneutral.desk import tables
from lostneutral.desk.case import DeskCase
from lostneutral.desk.items import Written
from lostneutral.errors import UsageError


def test_what_a_list_is_written_in():
    assert tables.read_text("\ufeffItem;Power\nUrn;3 kW, hot\nTV;60 W").rows[1] == ("Urn", "3 kW, hot")
    assert tables.read_text("Item,Power\nUrn,3 kW\n\n ,\n").rows == (("Item", "Power"), ("Urn", "3 kW")) and tables.read_text("a;b\nc;d").rows == (("a", "b"), ("c", "d"))
    assert tables.read_text("Urn\t3 kW; 2,5").rows == (("Urn", "3 kW; 2,5"),)
    for empty in ("", " \n\t\n", ", ,\n,"):
        with pytest.raises(UsageError, match="nothing to take"):
            tables.read_text(empty)
    with pytest.raises(UsageError, match="cannot be read as a table"):
        tables.read_text("a," + "x" * 200_000)
    assert tables.read_file("a.csv", "Größe,Ω\nUrn,1".encode("utf-16")).rows[0] == ("Größe", "Ω") and tables.read_file("a.csv", "Größe;1".encode("cp1252")).rows[0][0] == "Größe"
    with pytest.raises(UsageError, match="save it as UTF-8"):
        tables.read_file("a.csv", b"\xff\xfea")


def test_a_list_that_is_too_large_is_refused(monkeypatch):
    monkeypatch.setattr(tables, "BYTES_MAX", 1_000_000)
    assert tables.read_file("a.csv", b"Urn,1\n" + b"\n" * 999_994).rows == (("Urn", "1"),)
    with pytest.raises(UsageError, match="the file is larger than 1 MB — a list of items is smaller"):
        tables.read_file("a.csv", b"Urn,1\n" + b"\n" * 999_995)


def test_a_list_has_so_many_rows_and_columns(monkeypatch):
    monkeypatch.setattr(tables, "ROWS_MAX", 3)
    headed = tables.read_text("Item;Power\n" + "\n".join(f"Urn {n};3 kW" for n in range(5)))
    assert (len(headed.rows), len(headed.body), headed.left, headed.headed) == (4, 3, 2, True)
    bare = tables.read_text("\n".join(f"Urn {n};3 kW" for n in range(5)))
    assert (len(bare.rows), bare.left, bare.headed) == (3, 2, False)
    assert len(tables.read_text(";".join(map(str, range(1, 60)))).columns) == 40
    assert tables.read_text("a;;b\nc;;d").rows == (("a", "b"), ("c", "d"))  # an empty column is none


def test_columns_are_known_by_what_they_hold():
    held = lambda *cells: tables._held(list(cells))
    assert [held(*c) for c in ((), ("L1", "L2-N", "phase 3"), ("60 W", "2 A", "x"), ("230 V", "400 V"), ("2x", "3", "4 ×"), ("on", "?", "off"), ("1500", "60.5"),
                               ("broken", "works"), ("board 1", "circuit 2"), ("kettle", "lamp"), ("Till by the door", "Back room thing"))] == [
        "", "connect", "power", "voltage", "count", "on", "power", "fate", "point", "what", "name"]
    # more than half, seven or eight tenths of the cells
    assert held("60 W", "x") != "power" and held("230 V", "x") != "voltage" and held("L1", "L2", "x y z") != "connect" and held("L1", "L2", "L3", "x") == "connect"
    share = lambda n, of, cell, other="x y z": held(*[cell] * n, *[other] * (of - n))
    assert [share(6, 11, "60 W"), share(6, 11, "230 V"), share(6, 11, "board 1"), share(5, 8, "broken"), share(5, 6, "2x"), share(5, 6, "1500"), share(3, 4, "kettle")] == [
        "power", "voltage", "point", "fate", "count", "power", "what"]
    assert [share(3, 5, "broken"), share(4, 5, "1500"), share(7, 10, "kettle"), share(1, 2, "board 1")] == ["name"] * 4
    assert held("1", "2", "3", "4", "x") != "count" and held(*"12345", "x") == "count" and held("on", "off", "q") != "on" and held("on", "off", "on", "q") == "on"


def test_headings_name_their_columns():
    assert [tables._headed(x) for x in ("Qty.", "Rated power [kW]", "Rating (W)", "Board", "what became of it", "Equipment name", "x", "")] == [
        "count", "power", "power", "point", "fate", "name", "", ""]
    assert tables.read_text("Item,Item,Qty\na,b,2").columns == ("name", "what", "count") and tables._once(("", "power", "power")) == ("name", "power", "")
    assert tables.read_text("Item,note\na,b").columns[0] == "name"
    one = tables.read_text("Item\nUrn\nTV")
    assert one.headed and [w.name for w in one.written()] == ["Urn", "TV"] and not tables.read_text("Item").headed


def test_rows_of_a_list_as_they_are_written():
    made = tables.read_text("Item,Power (kVA)\nUrn,3\n,4\nTV,60 W\nFan,\n").written()
    assert [(w.name, w.power) for w in made] == [("Urn", "3 kVA"), ("TV", "60 W"), ("Fan", "")]
    assert [w.power for w in tables.read_text("Urn;3 kW\nTV;60 W").with_column(0, "name").written()] == ["3 kW", "60 W"]
    assert tables.read_text("Item,Power\nUrn,3").written()[0].power == "3"
    assert tables.read_text("kettle;2 kW;L1\nlamp;60 W\n").with_column(1, "").written() == (Written("kettle", connect="L1"), Written("lamp"))  # one column is not taken, one cell is not there


def test_a_workbook_that_is_too_large_or_damaged(monkeypatch):
    book, held = openpyxl.Workbook(), io.BytesIO()
    for row in (["Item", "On"], ["Urn", True], ["TV", None], [None, None], ["=1+1", None]):  # what a formula comes to was never worked out: it is no name
        book.active.append(row)
    book.save(held)
    assert tables.read_file("a.xlsx", held.getvalue()).rows == (("Item", "On"), ("Urn", "yes"), ("TV", ""))
    monkeypatch.setattr(tables, "UNPACKED_MAX", 100)
    with pytest.raises(UsageError, match="too large — save the one sheet"):
        tables.read_file("a.xlsx", held.getvalue())
    with pytest.raises(UsageError, match="cannot be read"):
        tables.read_file("a.xlsx", b"PK" + b"x" * 100)


def test_boards_that_are_new():
    case = DeskCase(SMALL)
    written = [Written("kettle", point="barn", connect="L1"), Written("lamp", point="intake"), Written("lamp", point="barn"), Written("lamp", point="shed")]
    assert tables.new_boards(case, written) == ("barn", "shed")
    assert len(tables.take(case, written)) == 4 and [(p["name"], p.get("fed_from")) for p in case.data["point"]] == [("intake", None), ("barn", "intake"), ("shed", "intake")]
    bare = DeskCase('title = "x"\n')
    tables.take(bare, written[:1])
    assert bare.data["point"] == [{"name": "barn", "fed_from": "supply"}]
