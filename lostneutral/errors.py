"""Every error the library raises on purpose."""

from collections.abc import Iterable


class LostNeutralError(Exception):
    """Base of all errors of this library; `exit_code` is what the command line ends with."""

    exit_code = 1


class CaseError(LostNeutralError):
    """The case file cannot be used as it stands.

    `faults` holds every error found, in file order, each one line of text:
    ``file:line:col: key.path: what is wrong, with the value — what is allowed, with unit``. `places` holds for each
    where it is and the words alone: (path of keys and numbers in the parsed file, ``what is wrong … — what is allowed …``).

    >>> from lostneutral import CaseError, parse_case
    >>> try:
    ...     parse_case('''
    ... title = "x"
    ... [supply]
    ... volts = 230
    ... [[load]]
    ... name = "a"
    ... ''')
    ... except CaseError as error:
    ...     print(len(error.faults), error.faults[0].split(" — ")[0])
    3 case.toml:4:1: supply.volts: unknown key
    """

    exit_code = 2

    def __init__(self, faults: Iterable[str], places: Iterable[tuple[tuple[str | int, ...], str]] = ()) -> None:
        self.faults = tuple(faults)
        self.places = tuple(places)
        super().__init__("\n".join(self.faults))


class UsageError(LostNeutralError):
    """The command or call cannot be carried out as given (a file is in the way, a name is unknown)."""

    exit_code = 2


class DataFileError(LostNeutralError):
    """A data file of this program lacks a source, a unit or a code; the message has each place."""


class NoSolutionError(LostNeutralError):
    """The circuit has no solution that could be found; the message says what was tried."""

    exit_code = 3
