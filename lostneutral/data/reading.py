"""Tables read as Python reads its modules: parsed and checked once, and again whenever the file has changed.

In between, what came of it is kept in `__pycache__` beside the file, where Python keeps what it made of a module, by the same rules:
a file of another time or size is read anew, and where nothing can be written nothing is kept.
"""

from collections.abc import Mapping
from importlib.machinery import SourceFileLoader
from math import inf, nan
from pathlib import Path
from typing import Any


def read_table(name: str, path: Path, codes: Mapping[str, str]) -> dict[str, Any]:
    """Return the table `name` in the TOML file `path`, whose figures are known by one of `codes`; DataFileError where it breaks a rule."""
    made: dict[str, Any] = {"inf": inf, "nan": nan}
    exec(_Table(name, str(path), codes).get_code(name), made)
    return made["table"]


class _Table(SourceFileLoader):
    """What Python asks for the code of a module, giving that of a table."""

    def __init__(self, name, path, codes):
        super().__init__(name, path)
        self.codes = codes

    def source_to_code(self, data, path, **_):
        import tomllib

        from lostneutral.data.checking import check_table

        table = tomllib.loads(bytes(data).decode("utf-8"))
        check_table(self.name, table, self.codes)
        return compile(f"table = {table!r}", path, "exec")
