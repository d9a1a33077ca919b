"""From a case file to a `Case`, or to every error it has."""

import codecs
import hashlib
import re
import sys
import tomllib
from os import PathLike
from pathlib import Path

from lostneutral.case.model import Case
from lostneutral.errors import CaseError, UsageError

SIZE_MAX = 2_000_000  #: bytes


def read_case(path: "str | PathLike[str]") -> Case:
    """Return the Case in the TOML file `path` ("-" = standard input).

    Units in the file: V, A, W, var, ohm, Hz, m, mm², °C, s. Range: UTF-8 text of at most 2 MB; each key's own range is in
    `lostneutral schema`. Defaults, and where each is from, are in the case's `assumptions`.

    Raises CaseError with every error if it cannot be used, UsageError if the file cannot be read.

    >>> from lostneutral import read_case
    >>> case = read_case("casebook/three-unequal-lamps.toml")
    >>> [(load.name, load.connect, load.parameters["power"]) for load in case.loads][0]
    ('Clock lamp', ('L1', 'N'), 25.0)
    """
    if str(path) == "-":
        return parse_case(sys.stdin.buffer.read(SIZE_MAX + 1), "<stdin>")
    try:
        with Path(path).open("rb") as file:
            content = file.read(SIZE_MAX + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise UsageError(f"{path}: cannot be read: {reason} — give the name of a case file, or - for standard input"
                         ) from None
    return parse_case(content, str(path))


def parse_case(content: str | bytes, name: str = "case.toml") -> Case:
    """Return the Case in `content` (text or bytes of TOML); `name` is the file's name in the messages.

    Units and ranges as of `read_case`. Pictures that it names are looked for beside `name`.

    Raises CaseError with every error, in file order. An error of TOML's own syntax is reported alone.

    >>> from lostneutral import CaseError, parse_case
    >>> try:
    ...     parse_case('''
    ... title = "x"
    ... [supply]
    ... [[load]]
    ... name = "a"
    ... kind = "resistive"
    ... connect = "L1-N"
    ... power = -5
    ... ''')
    ... except CaseError as error:
    ...     print(error)
    case.toml:8:9: load[1].power: -5 is too small — a number from 0.001 to 10000000, in W
    """
    # pydantic takes a while to import: only who reads a case waits for it.
    from lostneutral.case.build import build
    from lostneutral.case.checks import check
    from lostneutral.case.entries import validated
    from lostneutral.case.faults import Faults
    from lostneutral.case.groups import expanded
    from lostneutral.case.pictures import check_pictures
    from lostneutral.case.recordings import check_recordings

    raw = content.encode("utf-8", "surrogatepass") if isinstance(content, str) else bytes(content)
    text, table = toml_text(raw, name)
    table, origins = expanded(table)
    faults, warnings = Faults(name, text, origins), []
    draft = validated(table, faults)
    check(draft, faults, warnings)
    pictures = check_pictures(draft, faults, Path(name).parent)
    recordings = check_recordings(draft, faults, Path(name).parent)
    if faults:
        raise faults.error()
    return build(draft.file, warnings, text, hashlib.sha256(raw).hexdigest(), pictures, recordings)


def toml_text(raw: bytes, name: str) -> tuple[str, dict]:
    """Return (text, parsed TOML) of `raw`; CaseError, in the words of a case file, if it is not text or not TOML."""
    text = _text(raw, name)
    return text, _table(text, name)


def _alone(name, place, words):
    """Return the CaseError of an error that leaves nothing else to check."""
    return CaseError([f"{name}:{place[0]}:{place[1]}: {words}"])


def _place(text, offset):
    """Return the (line, column) of character `offset` of `text`."""
    return text.count("\n", 0, offset) + 1, offset - text.rfind("\n", 0, offset)


def _text(raw, name):
    """Return the text of `raw`, or say why it is none."""
    if len(raw) > SIZE_MAX:
        raise _alone(name, (1, 1), f"the file is larger than {SIZE_MAX // 10**6} MB — a case is text of a few kB, at most "
                                   f"{SIZE_MAX // 10**6} MB")
    if raw.startswith(codecs.BOM_UTF8):
        raise _alone(name, (1, 1), "the file begins with a byte order mark — save it as UTF-8 without one (no BOM)")
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError as error:
        before = raw[:error.start].decode("utf-8")
        raise _alone(name, _place(before, len(before)),
                     f"byte 0x{raw[error.start]:02X} is not UTF-8 text — save the case file as UTF-8") from None
    if "\0" in text:
        raise _alone(name, _place(text, text.index("\0")),
                     "a NUL byte: this is not a text file — a case file is TOML in UTF-8")
    if not text.strip():
        raise _alone(name, (1, 1), "the file is empty — `lostneutral new` writes an example case file to adapt")
    return text


def _table(text, name):
    """Return the parsed TOML, or say where its syntax breaks."""
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise _alone(name, _place(text, _deepest(text)),
                     "lists or tables are nested too deeply — a case needs no more than three levels") from None
    except ValueError as error:
        words, _, where = str(error).partition(" (at ")
        if numbers := re.match(r"line (\d+), column (\d+)", where):
            place = int(numbers[1]), int(numbers[2])
        elif where:
            place = _place(text, len(text))
        else:  # Python refuses to read a whole number of thousands of digits
            words = "a whole number of more than 4300 digits"
            long = re.search(r"[\d_]{4300,}", text)
            place = _place(text, long.start() if long else 0)
        from lostneutral.case.slips import slip

        meant = slip(text, place[0], words)
        raise _alone(name, place, f"this is not TOML: {words}" + (f" — {meant}" if meant else "")) from None


def _deepest(text):
    """Return the offset of the bracket that opens the deepest level, strings and comments not told apart."""
    depth = deepest = offset = 0
    for bracket in re.finditer(r"[][{}]", text):
        depth += 1 if bracket[0] in "[{" else -1
        if depth > deepest:
            deepest, offset = depth, bracket.start()
    return offset
