"""A case file changes where it is changed and nowhere else. Kind: invariant, held against Python's own reader of TOML."""

import difflib
import tomllib

import pytest
from desk_cases import CASEBOOK, SHOP

from lostneutral.desk.document import Document

FILES = sorted(CASEBOOK.glob("*.toml"))
APART = '''title = "x"   # t
[supply] # c
[[load]]
name = "a" # first
# before what was seen
[[observation]]
load = "a"

[[load]]
name = "b"
[[point]]
name = "i"
  [point.cable]
  length = 4 # m
'''


@pytest.mark.parametrize("file", FILES, ids=lambda f: f.stem)
def test_a_file_that_is_opened_stays_as_it_is(file):
    text = file.read_text("utf-8")
    document = Document.read(text)
    assert document.text == text
    for root, value in tomllib.loads(text).items():
        if isinstance(value, list):
            assert [block.data for block in document.of(root)] == value


@pytest.mark.parametrize("file", FILES, ids=lambda f: f.stem)
def test_one_value_is_one_line(file):
    text = file.read_text("utf-8")
    document, wanted = Document.read(text), tomllib.loads(text)
    if not document.of("load"):
        pytest.skip("its loads are those of a group")
    made = document.changed(document.of("load")[-1].uid, ("power",), 123.0)
    wanted["load"][-1]["power"] = 123
    assert tomllib.loads(made.text) == wanted
    changed = [line for line in difflib.ndiff(text.split("\n"), made.text.split("\n")) if line[0] in "+-"]
    assert len(changed) <= 2


def test_tables_that_stand_apart_stay_apart_with_their_comments():
    document = Document.read(APART)
    made = document.changed(document.of("load")[1].uid, ("power",), 5.0)
    made = made.changed(made.of("point")[0].uid, ("cable", "area"), 6.0).changed(made.of("point")[0].uid, ("electrode",), 2.5)
    assert made.text == APART.replace('name = "b"\n', 'name = "b"\npower = 5\n').replace(
        'name = "i"\n', 'name = "i"\nelectrode = 2.5\n').replace("length = 4 # m\n", "length = 4 # m\narea = 6\n")
    assert made.changed(made.of("load")[0].uid, ("name",), "c").text.count('name = "c" # first') == 1


def test_a_comment_above_a_table_belongs_to_it():
    document = Document.read(APART)
    (seen,) = document.of("observation")
    assert seen.text == '# before what was seen\n[[observation]]\nload = "a"\n\n' and "# before" not in document.removed(seen.uid).text
    assert [b.text for b in Document.read("title = 'x'\n# one\n# two\n[supply]\n# three\n[[load]]\n").blocks] == ["title = 'x'\n", "# one\n# two\n[supply]\n", "# three\n[[load]]\n"]


def test_what_is_taken_away_leaves_the_headings_of_what_follows():
    document = Document.read(SHOP.read_text("utf-8"))
    last_of_the_shop = document.of("load")[5]
    made = document.removed(last_of_the_shop.uid)
    assert "# Kitchen" in made.text and "Cold counter" not in made.text
    assert len(tomllib.loads(made.text)["load"]) == 14


def test_tables_in_braces_become_tables_of_their_own():
    document = Document.read('title="x" # t\nsupply.earthing="TT"\nbreak=[]\nload=[{name="a",kind="lamp",power=1,connect="L1-N"}]')
    assert document.text.startswith('title="x" # t\nbreak=[]\n')
    assert [b.data["name"] for b in document.of("load")] == ["a"] and document.of("supply")[0].data == {"earthing": "TT"}
    made, _ = document.added("break", {"conductor": "N"})
    assert tomllib.loads(made.text)["break"] == [{"conductor": "N"}]


def test_any_name_can_be_written():
    names = ['a "b"', "back\\slash", "日本語", "עברית", "Ω ☃ 😀", "\u202eright to left", "a'b", "tab\there", "new\nline", "\x7f\x01"]
    document = Document.read("title = 'x'\n")
    for name in names:
        document, _ = document.added("load", {"name": name})
    assert [entry["name"] for entry in tomllib.loads(document.text)["load"]] == names
    for block, name in zip(document.of("load"), reversed(names)):
        document = document.changed(block.uid, ("name",), name)
    assert [entry["name"] for entry in tomllib.loads(document.text)["load"]] == names[::-1]


def test_tables_that_the_desk_does_not_know_stay_and_new_ones_go_to_their_like():
    document = Document.read(APART + '[[device]]\nname = "later kind of table"\n')
    made, _ = document.added("load", {"name": "c"})
    assert [b.root for b in made.blocks] == ["", "supply", "load", "observation", "load", "load", "point", "device"]
    assert tomllib.loads(made.text)["device"] == [{"name": "later kind of table"}]


def test_a_table_that_is_gone_stays_gone():
    document = Document.read(APART)
    uid = document.of("load")[0].uid
    assert document.removed(uid).changed(uid, ("power",), 1.0) == document.removed(uid)
