"""Published tables, one TOML file each, every figure with its source and how it is known."""

import tomllib
from functools import cache
from importlib.resources import files
from typing import Any

from lostneutral.data.checking import check_table

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

    DataFileError where the file breaks a rule that data files keep (see `checking.check`).
    """
    table = tomllib.loads(files(__name__).joinpath(f"{name}.toml").read_text(encoding="utf-8"))
    check_table(name, table, KNOWN)
    return table
