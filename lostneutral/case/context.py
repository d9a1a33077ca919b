"""What the checks share: the names there are, and the questions asked again and again."""

from lostneutral.case import resolve
from lostneutral.case.faults import closest, quoted, show
from lostneutral.case.model import LINES

NAMED = ("point", "load", "generator", "changeover", "device")  #: tables that others refer to by name
MANY = 100  #: so many faults, and what was meant is not looked for any more: it takes as long as there are names


def changeover_name(entry, points):
    """Return what a changeover is called: its name, else by its point, by default the first of the names `points`."""
    return entry.name or f"changeover at {entry.point or (points or ['intake'])[0]}"


class Context:
    """The draft of a case with its faults and warnings; entries set aside are known by name only."""

    def __init__(self, draft, faults, warnings):
        self.draft, self.faults, self.warnings = draft, faults, warnings
        self.supply = None if ("supply",) in draft.aside else draft.file.supply
        self.lines = resolve.lines_of(self.supply) if self.supply else LINES
        self.earthing = self.supply.earthing if self.supply else None
        self.points = {entry.name: (path, entry) for path, entry in draft.entries("point")}
        self.loads = {entry.name: (path, entry) for path, entry in draft.entries("load")}
        self.names = {key: list(dict.fromkeys(name for _, name in draft.names(key))) for key in NAMED}
        self.names["changeover"] += [changeover_name(entry, self.names["point"]) for _, entry in draft.entries("changeover")
                                     if entry.name is None]
        # Without faults of their own in the way, one point is there even if none is written.
        faulty_group = any(path[0] == "group" for path in draft.aside)
        self.known = {key: (key,) not in draft.aside and not faulty_group for key in NAMED}
        if not draft.table.get("point"):
            self.names["point"] = ["intake"]
            self.places = {"intake": resolve.PointInPlace("intake", self.lines)}
        else:
            self.places = resolve.places_of_points([entry for _, entry in self.points.values()], self.lines)
        self._sets = {key: set(names) for key, names in self.names.items()}

    def refer(self, path, name, key, besides=()):
        """Note a fault unless `name` is a point (or load, by `key`) or one of `besides`; return whether it is."""
        if name in besides or name in self._sets[key] or not self.known[key]:
            return True
        names = [*besides, *self.names[key]]
        meant = closest(name, names) if len(self.faults) < MANY else None
        self.faults.add(path, f"there is no {key} {show(name)}",
                        "one of " + quoted(names) if names else f"no {key} is given", meant)
        return False

    def point_of(self, path, name, key="point"):
        """Return the point's name, or the only point's if `name` is None; None, with a fault, if that is not decided.

        With another `key` the same of a generator.
        """
        if name is not None:
            return name if self.refer((*path, key), name, key) else None
        if len(self.names[key]) == 1:
            return self.names[key][0]
        if self.known[key] and self.names[key]:
            self.faults.add((*path, key), "is missing", f"with several {key}s, one of " + quoted(self.names[key]))
        return None

    def conductor(self, path, point, conductor):
        """Note a fault if `conductor` is not in the run that feeds `point`."""
        place = self.places.get(point)
        if place is None or self.supply is None:
            return
        there = resolve.run_conductors(self.earthing, place)
        if conductor in there or conductor == "PEN" and resolve.feeds_by_pen(self.earthing, place.kind):
            return
        meant = None
        if conductor == "PEN":
            meant = "N"
            why = f"the cable to {show(point)} has no PEN: neutral and earth are separate in it" if self.earthing else \
                'a PEN needs supply.earthing, "TN-C-S" (also called PME or MEN) or "TN-C", which is not given'
        elif conductor != "PE":
            why = f"{conductor} is not connected at {show(point)}"
        elif self.earthing is None:
            why = "PE needs supply.earthing, which is not given"
        elif resolve.feeds_by_pen(self.earthing, place.kind):
            why, meant = f"in {self.earthing}, N and PE are one conductor in the cable to {show(point)}: the PEN", "N"
        else:
            why = f"in {self.earthing} the cable to {show(point)} has no PE"
        self.faults.add(path, why, "one of " + quoted(there), meant)

    def only_with(self, path, entry, names, what):
        """Note a fault for every key of `names` that `entry` gives, since it belongs to `what`."""
        for name in sorted(entry.model_fields_set & set(names)):
            key = type(entry).model_fields[name].alias or name
            self.faults.add((*path, key), "does not apply here", f"it belongs to {what}", at="key")

    def one_of(self, path, entry, fields, allowed):
        """Return which of `fields` the entry gives, or None, with a fault, if it gives more than one, or none."""
        given = [name for name in fields if name in entry.model_fields_set]
        if len(given) == 1:
            return given[0]
        keys = [type(entry).model_fields[name].alias or name for name in given or fields]
        words = f"{' and '.join(keys[:2])} are both given" if given else \
            f"neither {', '.join(keys[:-1])} nor {keys[-1]} is given"
        self.faults.add(path, words, allowed)
        return None

    def unique(self, seen, mark, path, words, allowed):
        """Note a fault at `path` if `mark` is in the dict `seen`; remember it."""
        if mark in seen:
            self.faults.add(path, words, allowed)
        seen.setdefault(mark, path)

    def warn(self, words):
        """Note something that is accepted but wants saying."""
        self.warnings.append(words)
