"""From a case file to a `Case`, or to every fault it has."""

import hashlib
import re
import sys
import tomllib
from pathlib import Path

from lostneutral.errors import UsageError

SIZE_MAX = 2_000_000  #: bytes


def read_case(path):
    """Return the Case in the TOML file `path` ("-" = standard input).

    Raises CaseError with every fault if it cannot be used, UsageError if the file cannot be read.
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


def parse_case(content, name="case.toml"):
    """Return the Case in `content` (text or bytes of TOML); `name` is the file's name in the messages.

    Raises CaseError with every fault, in file order. A fault of TOML's own syntax is reported alone.
    """
    # pydantic takes a while to import: only who reads a case waits for it.
    from lostneutral.case.build import build
    from lostneutral.case.checks import check
    from lostneutral.case.entries import validated
    from lostneutral.case.faults import Faults

    raw = content.encode("utf-8", "surrogatepass") if isinstance(content, str) else bytes(content)
    text = _text(raw, name)
    table = _table(text, name)
    faults, warnings = Faults(name, text), []
    draft = validated(table, faults)
    check(draft, faults, warnings)
    if faults:
        raise faults.error()
    return build(draft.file, warnings, text, hashlib.sha256(raw).hexdigest())


def _alone(name, text, offset, words):
    """Return the CaseError of one fault at character `offset` of `text`."""
    from lostneutral.errors import CaseError
    line = text.count("\n", 0, offset) + 1
    column = offset - (text.rfind("\n", 0, offset) + 1) + 1
    return CaseError([f"{name}:{line}:{column}: {words}"])


def _text(raw, name):
    """Return the text of `raw`, or say why it is none."""
    if len(raw) > SIZE_MAX:
        raise _alone(name, "", 0, f"the file is larger than {SIZE_MAX // 10**6} MB — a case file is text of a few kB, "
                                  "with at most 2 MB")
    if raw.startswith(b"\xef\xbb\xbf"):
        raise _alone(name, "", 0, "the file begins with a byte order mark — save it as UTF-8 without one (without BOM)")
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError as error:
        before = raw[:error.start].decode("utf-8")
        raise _alone(name, before, len(before), f"byte 0x{raw[error.start]:02X} is not UTF-8 text — "
                                                "save the case file as UTF-8") from None
    if "\0" in text:
        raise _alone(name, text, text.index("\0"), "a NUL byte: this is not a text file — a case file is TOML in UTF-8")
    if not text.strip():
        raise _alone(name, "", 0, "the file is empty — `lostneutral new` writes a case to start from")
    return text


def _table(text, name):
    """Return the parsed TOML, or say where its syntax breaks."""
    try:
        return tomllib.loads(text)
    except RecursionError:
        offset = max(_deepest(text), 0)
        raise _alone(name, text, offset, "lists or tables are nested too deep — a case needs three levels") from None
    except ValueError as error:
        words = str(error)
        place = re.search(r" \(at (?:line (\d+), column (\d+)|end of document)\)$", words)
        if place is None:  # Python refuses to read a number of thousands of digits
            offset = re.search(r"\d[\d_]{4000,}", text)
            raise _alone(name, text, offset.start() if offset else 0, f"not TOML: {words}") from None
        if place[1] is None:
            offset = len(text.rstrip("\r\n"))
        else:
            text = text.replace("\r\n", "\n")
            offset = sum(len(line) for line in text.splitlines(keepends=True)[:0])
            starts = [0] + [m.end() for m in re.finditer("\n", text)]
            offset = starts[int(place[1]) - 1] + int(place[2]) - 1
        raise _alone(name, text, offset, f"not TOML: {words[:place.start()]}") from None


def _deepest(text):
    """Return the offset of the bracket that opens the deepest level, strings and comments not told apart."""
    depth = deepest = offset = 0
    for bracket in re.finditer(r"[][{}]", text):
        depth += 1 if bracket[0] in "[{" else -1
        if depth > deepest:
            deepest, offset = depth, bracket.start()
    return offset


def case_schema():
    """Return the JSON schema of the case file, for editors."""
    from lostneutral.case.schema import CaseFile
    return CaseFile.model_json_schema(by_alias=True)


def starter():
    """Return the text of a commented case to start from; it runs as it is."""
    from importlib.resources import files
    return files("lostneutral.case").joinpath("starter.toml").read_text(encoding="utf-8")
