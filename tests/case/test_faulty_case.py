"""Every fault is found, at its place, in words that say what is allowed; the wording is the program's own."""

import io
import re
import sys

import pytest
from faults_between_keys import BETWEEN
from faulty_cases import FAULTY, HEAD, LAMP
from hypothesis import given, settings
from hypothesis import strategies as st

from lostneutral.case import Case, parse_case, read_case, starter
from lostneutral.errors import CaseError, UsageError

EVERY = FAULTY | BETWEEN


def marked(text):
    """Return the text without its marks, and the (line, column) of each mark, counted from 1."""
    pieces, places = text.split("▸"), []
    for number in range(1, len(pieces)):
        before = "".join(pieces[:number])
        places.append((before.count("\n") + 1, len(before) - (before.rfind("\n") + 1) + 1))
    return "".join(pieces), places


@pytest.mark.parametrize("name", EVERY)
def test_fault_is_named_with_its_place(name):
    text, places = marked(EVERY[name][0])
    with pytest.raises(CaseError) as caught:
        parse_case(text, "f.toml")
    wanted = [f"f.toml:{line}:{column}: {words}" for (line, column), words in zip(places, EVERY[name][1:], strict=True)]
    got = caught.value.faults
    assert len(got) == len(wanted), got
    for found, want in zip(got, wanted, strict=True):
        assert re.fullmatch(re.escape(want).replace(r"\*", ".*"), found), found


def fault_of(content):
    with pytest.raises(CaseError) as caught:
        parse_case(content, "f")
    (fault,) = caught.value.faults
    return fault


def test_bytes_that_are_not_a_case():
    good = (HEAD + LAMP).encode()
    assert fault_of(b"\xef\xbb\xbf" + good).startswith("f:1:1: the file begins with a byte order mark")
    assert fault_of('title = "é'.encode() + b"\xff").startswith("f:1:11: byte 0xFF is not UTF-8 text")
    assert fault_of((HEAD + LAMP).encode("utf-16")).startswith("f:1:1: byte 0xFF is not UTF-8 text")
    assert fault_of(bytes(range(256))).startswith("f:2:118: byte 0x80 is not UTF-8 text")
    assert fault_of(good + b"# " + b"x" * 10_000_000).startswith("f:1:1: the file is larger than 2 MB")
    assert "not UTF-8" in fault_of('title = "\ud800"')


@pytest.mark.parametrize("depth", [50, 5_000, 100_000])
def test_any_depth_is_a_fault(depth):
    dotted = ["a." * depth + "b = 1"] * (depth <= 5_000)
    for text in ("x = " + "[" * depth + "]" * depth, "x = " + "{ a = " * depth, *dotted):
        with pytest.raises(CaseError):
            parse_case(HEAD.replace("[supply]", text) + "[supply]\n" + LAMP)


def test_files_that_cannot_be_read(tmp_path):
    with pytest.raises(UsageError, match="cannot be read: No such file"):
        read_case(tmp_path / "none.toml")
    with pytest.raises(UsageError, match="cannot be read: Is a directory"):
        read_case(tmp_path)
    with pytest.raises(UsageError, match="cannot be read"):
        read_case("a\0b")


def test_read_from_file_and_standard_input(tmp_path, monkeypatch):
    path = tmp_path / "case.toml"
    path.write_text(starter(), encoding="utf-8")
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(starter().encode())))
    assert read_case(str(path)) == read_case("-")
    path.write_text(HEAD)
    with pytest.raises(CaseError, match=f"^{re.escape(str(path))}:1:1: load: is missing"):
        read_case(path)
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(HEAD.encode())))
    with pytest.raises(CaseError, match="^<stdin>:1:1: load: is missing"):
        read_case("-")


def test_messages_stay_on_one_line():
    text = HEAD.replace('"t"', '"t"\n"a\\nb\\u202e" = 1') + LAMP.replace('"lamp"\nk', '"x\\ny"\nk')
    with pytest.raises(CaseError) as caught:
        parse_case(text)
    assert len(caught.value.faults) == 2
    assert all(fault.isprintable() for fault in caught.value.faults)


@pytest.mark.thorough
@settings(max_examples=150, deadline=None, derandomize=True)
@given(st.data())
def test_a_damaged_case_gives_faults_or_a_case_and_nothing_else(data):
    """Invariant: whatever is cut out of, or put into, a good case, the answer is a Case or a CaseError with places."""
    text = starter()
    start = data.draw(st.integers(0, len(text)))
    end = data.draw(st.integers(start, min(len(text), start + 40)))
    put = data.draw(st.one_of(st.sampled_from(["", "[", "]", "= 1", "\n[[load]]\n", "1e999", "nan", '"', "[[point]]\n"]),
                              st.text(max_size=5)))
    try:
        assert isinstance(parse_case(text[:start] + put + text[end:], "f"), Case)
    except CaseError as error:
        lines = (text[:start] + put + text[end:]).split("\n")
        for fault in error.faults:
            line, column = re.match(r"f:(\d+):(\d+): .", fault).groups()
            assert 1 <= int(line) <= len(lines) and 1 <= int(column) <= len(lines[int(line) - 1]) + 1


VALUES = st.recursive(
    st.one_of(st.booleans(), st.integers(), st.floats(), st.text(max_size=4), st.sampled_from(["open", "L1", "intake"])),
    lambda inner: st.one_of(st.lists(inner, max_size=3), st.dictionaries(st.text("abL1", max_size=3), inner, max_size=2)),
    max_leaves=4)


def as_toml(value):
    match value:
        case bool():
            return "true" if value else "false"
        case dict():
            return "{" + ", ".join(f'"{key}" = {as_toml(item)}' for key, item in value.items()) + "}"
        case list():
            return "[" + ", ".join(as_toml(item) for item in value) + "]"
        case str():
            return '"' + "".join(f"\\U{ord(c):08X}" for c in value if not 0xD800 <= ord(c) < 0xE000) + '"'
        case _:
            return str(value)


@settings(max_examples=200, deadline=None, derandomize=True)
@given(st.integers(0, 10**6), VALUES)
def test_any_value_for_any_key_gives_faults_or_a_case(which, value):
    """Invariant, as above, with one value of a case exchanged for another of any type."""
    lines = [number for number, line in enumerate(starter().split("\n")) if re.match(r"\w+ = [^{]", line)
             and '"""' not in line]
    changed = starter().split("\n")
    number = lines[which % len(lines)]
    changed[number] = changed[number].split(" = ")[0] + " = " + as_toml(value)
    try:
        assert isinstance(parse_case("\n".join(changed)), Case)
    except CaseError as error:
        assert error.faults
