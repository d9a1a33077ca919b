"""What every data file keeps, checked when it is read: where each figure comes from and how that is known."""

import re
from collections.abc import Iterator, Mapping
from typing import Any

from lostneutral.errors import DataFileError

FROM_THE_FIGURE = frozenset("DPA")  #: derived, practice, assumption: nothing was published that could have an edition


def check_table(name: str, table: Mapping[str, Any], codes: Mapping[str, str]) -> None:
    """Raise DataFileError, with every fault and its place, where `table` (the file `name`) breaks a rule of data files.

    Each table with a figure, or one around it, has its `source`; a source has its `known`, one of `codes`, and its `edition`, or says in
    `no_edition` why there is none; a `value` that is a number has its `unit`.
    """
    faults = [f"{name}.toml: {where}: {fault}" for where, part, above in tables(table, "")
              for fault in _faults(part, above, codes, bool(table.get("sources")))]
    if faults:
        raise DataFileError("\n".join(faults))


def tables(value: Any, where: str, above: tuple[Mapping[str, Any], ...] = ()) \
        -> Iterator[tuple[str, Mapping[str, Any], tuple[Mapping[str, Any], ...]]]:
    """Yield (place, table, the tables around it) of every table in `value`."""
    if isinstance(value, dict):
        yield where or "file", value, above
        for key, inner in value.items():
            yield from tables(inner, f"{where}.{key}".lstrip("."), (value, *above))
    elif isinstance(value, list):
        for number, inner in enumerate(value):
            yield from tables(inner, f"{where}[{number}]", above)


def _faults(part, above, codes, elsewhere):
    numbers = [n for value in part.values() for n in _numbers(value)]
    # of alloys each column has its source in a table of sources; parameters of a load are its entry's
    if numbers and not elsewhere and not any("source" in t for t in (part, *above)):
        yield "has a figure and no source"
    if isinstance(part.get("value"), (int, float)) and "unit" not in part and not any("unit" in t for t in above):
        yield "value has no unit"
    for key, code in part.items():
        if (key == "known" or key.endswith("_known") or key.startswith("known_")) and code not in codes:
            yield f"{key} = {code!r} is none of {', '.join(codes)}"
    if "source" in part:
        yield from _source_faults(part)


def _source_faults(entry):
    source = entry["source"]
    if not isinstance(source, str) or not source.strip():
        yield "source is empty"
    elif "known" not in entry:
        yield "source without known"
    elif entry.get("edition", "").strip() == "not noted" or not (
            entry.get("edition", "").strip() or entry.get("no_edition") or entry["known"] in FROM_THE_FIGURE
            or re.search(r"\b(1[89]|20)\d\d\b", source)  # a law or regulation by its year
            or source.startswith("practice") or source.endswith("paraphrased")):
        yield "source without edition, and no_edition does not say why"


def _numbers(value):
    if isinstance(value, list):
        for inner in value:
            yield from _numbers(inner)
    elif isinstance(value, (int, float)) and not isinstance(value, bool):
        yield value
