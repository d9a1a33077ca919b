"""Published tables, one TOML file each, every figure with its source and how it is known."""

from functools import cache
from pathlib import Path
from typing import Any

from lostneutral.data.reading import read_table

KNOWN = {
    "S": "read at the source",
    "2": "read in a secondary source",
    "E": "cannot be looked up by the reader",
    "M": "not checked against the source for this report",
    "D": "derived by arithmetic",
    "P": "common practice",
    "A": "assumption of this program",
}
"""How a figure is known: the code used in the data files -> the words every output prints."""


@cache
def load(name: str) -> dict[str, Any]:
    """Return the table `name` (a file ``<name>.toml`` of this folder) as a dict; do not change it.

    DataFileError where the file breaks a rule that data files keep (see `checking.check_table`).
    """
    return read_table(name, Path(__file__).parent / f"{name}.toml", KNOWN)
