"""The tables of a case file as validated entries; those with a fault are set aside, the rest can still be checked."""

from pydantic import ValidationError

from lostneutral.case.faults import add_validation
from lostneutral.case.load_schema import KINDS, LoadEntry
from lostneutral.case.schema import CaseFile
from lostneutral.frozen import dataclass

STAND_IN = {"kind": "resistive", "power": 1.0}
"""What a load of unknown kind is taken for while the keys that every load has are checked."""


@dataclass(frozen=True)
class Draft:
    """The entries without a fault of their own, and what was set aside."""

    file: CaseFile
    table: dict  #: the parsed TOML as it is
    aside: set  #: paths of the entries that are left out of `file`

    def entries(self, key):
        """Yield (path, entry) of the array of tables `key`, with the path in the file."""
        name = "breaks" if key == "break" else key
        kept = getattr(self.file, name)
        if len(kept) == len(self.table.get(key, ())):
            yield from (((key, index), entry) for index, entry in enumerate(kept))
            return
        indices = (i for i in range(len(self.table[key])) if (key, i) not in self.aside)
        yield from (((key, index), entry) for index, entry in zip(indices, kept))

    def names(self, key):
        """Yield (path, name) of every table in the array `key` that has a name, faulty or not."""
        array = self.table.get(key, ())
        for index, entry in enumerate(array if isinstance(array, list) else ()):
            if isinstance(entry, dict) and isinstance(entry.get("name"), str):
                yield (key, index), entry["name"]


def validated(table, faults):
    """Return the Draft of the parsed file `table`; what is wrong within an entry goes to `faults`."""
    try:
        return Draft(CaseFile.model_validate(table), table, set())
    except ValidationError as error:
        aside = add_validation(faults, error)
    _check_common_keys(table, faults)
    kept = {}
    for key, value in table.items():
        if (key,) in aside:
            continue
        if isinstance(value, list):
            value = [entry for index, entry in enumerate(value) if (key, index) not in aside]
        kept[key] = value
    kept = {"title": "?", "supply": {}, "load": []} | kept
    return Draft(CaseFile.model_validate(kept), table, aside)


def _check_common_keys(table, faults):
    """Note what is wrong with the keys every load has, in loads of which the kind is not known."""
    loads = table.get("load", ())
    unknown = {index: {key: load[key] for key in LoadEntry.model_fields if key in load} | STAND_IN
               for index, load in enumerate(loads if isinstance(loads, list) else ())
               if isinstance(load, dict) and load.get("kind") not in list(KINDS)}
    try:
        CaseFile.model_validate({"title": "?", "supply": {}, "load": list(unknown.values())})
    except ValidationError as error:
        add_validation(faults, error, list(unknown))
