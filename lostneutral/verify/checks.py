"""The checks as data: those of the package, and a user's own file of them with an error for every fault."""

import tomllib
from functools import cache
from importlib.resources import files
from typing import Annotated, Any, Literal

from pydantic import Field, ValidationError

from lostneutral.case.values import Allowed, Entry, Name, Text, Title, Truth, number_between
from lostneutral.data import KNOWN
from lostneutral.frozen import dataclass
from lostneutral.verify.asked import QUESTIONS
from lostneutral.verify.printed import is_figure

TOPICS = ("stars", "harmonics", "earthing", "cables", "materials", "loads", "varistors", "wear", "supply_bands", "protection",
          "touch", "evidence", "beyond")
"""The files of ``lostneutral/data/checks/`` that hold checks, in the order in which they are told."""
OWN = "own checks"
_TABLE = Annotated[dict[str, Any], Allowed('a table, such as { voltage = 230 }')]
_PRINTED = Annotated[dict[str, Annotated[str, Allowed('text, such as "12.3"')]], Field(min_length=1),
                     Allowed('a table of what is asked and the figure as printed, such as { "voltage of kettle" = "240" }')]


class CheckEntry(Entry):
    """One published example or table: what is given, and each figure as it is printed."""

    id: Name = Field(description="Short name; must be unique in the file")
    source: Title = Field(description="Author and title, or standard, where it is printed")
    place: Text = Field("", description="Chapter, example, table or page")
    edition: Text = Field("", description="Edition")
    no_edition: Text = Field("", description="Why there is no edition")
    known: Literal[tuple(KNOWN)] = Field(None, description="How the figure is known: a code of the data files")
    ask: Name = Field("case", description="What the program is asked")
    case: Annotated[str, Allowed("a case file as text, between ''' and '''")] = Field(None, description="The case, for case and harmonics")
    case_of: Name = Field(None, description="The check above whose case this one takes")
    given: _TABLE = Field({}, description="What else is given, by name")
    printed: _PRINTED = Field(description="What is asked -> the figure as printed, as text")
    wrong: _PRINTED = Field(None, description="What is asked -> a published figure that is wrong and must not come out")
    within: number_between("", 0.0, 0.5) = Field(0.0, description="Tolerance as a share of the figure, if wider than the last digit printed")
    why: Text = Field("", description="Why the tolerance is wider")
    zeros: Truth = Field(True, description="Whether zeros that end a whole number are counted as printed digits")


class CheckFile(Entry):
    """A file of checks."""

    title: Title = Field("Own checks", description="Title of the checks")
    check: Annotated[list[CheckEntry], Field(min_length=1), Allowed("one or more [[check]]")] = Field(description="The checks")


@dataclass(frozen=True)
class Topic:
    """The checks of one file."""

    name: str
    title: str
    checks: tuple[CheckEntry, ...]


@cache
def topic(name: str) -> Topic:
    """Return the checks of the package's file `name`; ValueError (of pydantic) if it is faulty."""
    made = CheckFile.model_validate(tomllib.loads(files("lostneutral.data").joinpath(f"checks/{name}.toml").read_text(encoding="utf-8")))
    return Topic(name, made.title, _with_cases(made.check))


def topics() -> tuple[Topic, ...]:
    """Return the checks of the package by topic."""
    return tuple(map(topic, TOPICS))


def own_checks(content: bytes, name: str) -> Topic:
    """Return a user's own checks, the TOML `content` of the file `name`.

    Raises CaseError with every error and its place if they cannot be used.
    """
    from lostneutral.case.faults import Faults, add_validation
    from lostneutral.case.reader import toml_text

    text, table = toml_text(content, name)
    faults = Faults(name, text)
    entries = table.get("check", ())
    try:
        file = CheckFile.model_validate(table)
    except ValidationError as error:
        aside = add_validation(faults, error, root=CheckFile)
        _check(faults, [(n, CheckEntry.model_validate(entry)) for n, entry in enumerate(entries if isinstance(entries, list) else ())
                        if ("check", n) not in aside and ("check",) not in aside])
        raise faults.error() from None
    _check(faults, list(enumerate(file.check)))
    if faults:
        raise faults.error()
    return Topic(OWN, file.title, _with_cases(file.check))


def _with_cases(checks):
    """Return the checks, each with the case that it takes from another."""
    cases = {check.id: check.case for check in checks}
    return tuple(check if check.case_of is None else check.model_copy(update={"case": cases[check.case_of]}) for check in checks)


def given_of(check: CheckEntry) -> dict:
    """Return all that is given in `check`, its case among it."""
    return dict(check.given) | ({} if check.case is None else {"case": check.case})


def _check(faults, numbered):
    """Note in `faults` what no schema can tell of the checks: questions, what they take, what they can be asked, the cases."""
    from lostneutral.case.faults import closest, quoted, show

    seen, cases = {}, {check.id: check.case for _, check in numbered if check.case is not None}
    for number_, check in numbered:
        path = ("check", number_)
        if check.id in seen:
            faults.add((*path, "id"), f"{show(check.id)} is the name of another check", "names must be unique")
        seen.setdefault(check.id, path)
        if check.case_of is not None:
            if check.case_of not in cases:
                faults.add((*path, "case_of"), f"{show(check.case_of)} is no check with a case", "one of " + quoted(cases) if cases else
                           "no check has a case", closest(check.case_of, cases))
                continue
            check = check.model_copy(update={"case": cases[check.case_of]})
        asked = QUESTIONS.get(check.ask)
        if asked is None:
            faults.add((*path, "ask"), f"{show(check.ask)} is not something that can be asked", "one of " + quoted(QUESTIONS, 50),
                       closest(check.ask, QUESTIONS))
            continue
        _check_given(faults, path, check, asked)
        for key in ("printed", "wrong"):
            for what, figure in (getattr(check, key) or {}).items():
                if not asked.fits(what):
                    faults.add((*path, key, what), f"{show(what)} cannot be asked of {show(check.ask)}", asked.allowed, at="key")
                elif not is_figure(figure):
                    faults.add((*path, key, what), f"{show(figure)} is not a figure",
                               'a number as printed, such as "12.30", "1.2e-3", "230∠-120", "1.2-j3.4", "14 to 16", "= 230*20/45", or words')


def _check_given(faults, path, check, asked):
    from lostneutral.case import parse_case
    from lostneutral.case.faults import closest, show
    from lostneutral.errors import CaseError

    given = given_of(check)
    for name in given:
        if name not in asked.given:
            where = (*path, "case") if name == "case" else (*path, "given", name)
            faults.add(where, f"does not belong to {show(check.ask)}", "known here: " + (", ".join(asked.given) or "nothing"),
                       closest(name, asked.given), at="key")
    for name, parameter in asked.given.items():
        if name not in given and parameter.default is parameter.empty:
            faults.add((*path, "case" if name == "case" else "given"), f"{name} is missing",
                       "a case file as text, between ''' and '''" if name == "case" else f"{show(check.ask)} needs it")
        elif name in given and not _is(given[name], parameter.annotation):
            faults.add((*path, "given", name), f"{show(given[name])} cannot be used", {float: "a number", int: "a whole number",
                                                                                        str: "text", list: "a list"}[parameter.annotation])
    if check.case is not None and "case" in asked.given:
        try:
            parse_case(check.case, "case")
        except CaseError as error:
            for fault in error.faults:
                _, line, column, words = fault.split(":", 3)
                faults.add((*path, "case"), f"line {line}, column {column} of the case:{words}")


def _is(value, kind):
    if isinstance(value, bool):
        return False
    return isinstance(value, (int, float) if kind is float else kind)
