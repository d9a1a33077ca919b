"""The supply, the boards and their cables, and where the fault is."""

from lostneutral.desk.desk import Desk
from lostneutral.desk.fields import Field, fields
from lostneutral.desk.items import set_point_name
from lostneutral.desk.plates import Read
from lostneutral.desk.views import pictures
from lostneutral.desk.views.parts import ChoiceField, Rows, Tag, TextField, button, cards, folded

SUPPLIES = {
    "230": ("230/400 V, three-phase", "50 Hz: Europe, most of Asia and Africa, Australia", {}),
    "120/208": ("120/208 V, three-phase", "60 Hz: shops and offices in North America", {"nominal": 120, "frequency": 60}),
    "split": ("120/240 V, split-phase", "60 Hz: homes in North America", {"system": "split-phase"}),
    "other": ("Another", "give the voltage and frequency below", None),
}
EARTHINGS = (
    ("TN-C-S", "TN-C-S", "One incoming conductor serves as neutral and earth; at the intake the earth bar is joined to it"),
    ("TN-S", "TN-S", "A separate earth comes with the supply cable: its sheath, or a core of its own"),
    ("TT", "TT", "No earth comes with the supply: the site has an earth rod or tape of its own"),
    ("TN-C", "TN-C", "Neutral and earth are one conductor inside the installation too"),
    ("", "Not known", "Metalwork is then treated as live, and no touch voltage is calculated"),
)
SHOWN = ("", "supply", "document", "point", "break", "load", "unknown", "observation", "test", "photo")
UNKNOWN, NOTHING, LISTED = "not known", "nothing is broken", "as listed"


def generic(desk: Desk, field: Field, uid, path: tuple[str, ...], root: str = "", classes: str = ""):
    """Return a field of an entry by the schema: `uid` the entry's number, None the head; `root` a table there is once."""
    def own():
        block = desk.case.single(root) if root else None
        return block.uid if block else uid

    def value():
        found = (desk.case.single(root).data if desk.case.single(root) else {}) if root else desk.case.entry(uid)
        for key in path:
            found = found.get(key) if isinstance(found, dict) else None
        return found

    def put(read):
        if root:
            desk.case.put_single(root, path, read.value)
        else:
            desk.case.put(uid, path, read.value)
        return read

    def wrong():
        return desk.case.check().of(own() if (uid is not None or root) else None, *path)

    label = field.label
    if field.sort == "choice":
        return ChoiceField(label, lambda: {"": "–", **{c: c for c in field.choices}}, lambda: str(value() or ""),
                           lambda text: put(Read(text or None)), wrong, classes)
    if field.sort == "truth":
        return ChoiceField(label, lambda: {"": "–", "yes": "yes", "no": "no"}, lambda: field.shown(value()),
                           lambda text: put(field.read(text)), wrong, classes)
    return TextField(label, lambda: field.shown(value()), lambda text: put(field.read(text)), wrong, field.help,
                     field.sort == "long", classes=classes)


class Start:
    """The first part of the desk."""

    def __init__(self, desk: Desk):
        self.desk, case = desk, desk.case
        with Tag("section", aria_labelledby="h-supply"):
            Tag("h2", "Supply", id="h-supply")
            self.system = cards("What comes in", [(key, title, words, pictures.SUPPLY[key]) for key, (title, words, _) in SUPPLIES.items()],
                                "system", self._supply, self._set_supply)
            self.earthing = cards("Earthing, by what is seen at the intake",
                                  [(key, title, words, pictures.EARTHING[key]) for key, title, words in EARTHINGS],
                                  "earthing", self._earthing, lambda v: case.put_single("supply", ("earthing",), v or None))
            with folded("More on the supply"), Tag("div", classes="grid"):
                self.more = [generic(desk, f, None, (f.key,), "supply") for f in fields("supply") if f.key != "earthing"]
        with Tag("section", aria_labelledby="h-points"):
            Tag("h2", "Boards and cables", id="h-points")
            Tag("p", "Each place where something is connected, with the cable that feeds it. What is not known may stay empty: it is "
                     "assumed, and said so.", "small")
            holder = Tag("div", classes="rows")
            self.points = Rows(holder, lambda uid: PointRow(desk, uid))
            button("Add a board", self._add_point)
        with Tag("section", aria_labelledby="h-fault"):
            Tag("h2", "Where the fault is", id="h-fault")
            self.fault = ChoiceField("The fault", lambda: {k: k for k in (UNKNOWN, NOTHING, LISTED)}, self._fault, self._set_fault,
                                     lambda: case.check().of(None, "break"))
            self.unknown = Tag("p", "", "small")
            holder = Tag("div", classes="rows")
            self.breaks = Rows(holder, lambda uid: BreakRow(desk, uid))
            button("Add a broken conductor or a joint", self._add_break)
        self.kept = Tag("p", "", "small")
        self.refresh()

    def refresh(self) -> None:
        case = self.desk.case
        self.system(), self.earthing()
        for part in self.more:
            part.refresh()
        self.points.refresh([b.uid for b in case.entries("point")])
        self.breaks.refresh([b.uid for b in case.entries("break")])
        self.fault.refresh()
        checked = case.check()
        assumed = [a for a in checked.case.assumptions if a.subject == "break"] if checked.case else []
        self.unknown.say(f"Assumed until it is known: {assumed[0].value}. Readings, and what was seen of the items, show which places "
                         "they support." if assumed else "")
        more = dict.fromkeys(block.root for block in case.document.blocks if block.root not in SHOWN)
        self.kept.say(f"This case also has entries that the desk does not show and keeps as they are: {', '.join(more)}." if more else "")

    # The supply

    def _data(self):
        block = self.desk.case.single("supply")
        return block.data if block else {}

    def _supply(self):
        data = {k: v for k, v in self._data().items() if k in ("system", "nominal", "frequency")}
        data = {k: v for k, v in data.items() if (k, v) not in (("system", "three-phase"), ("nominal", 230), ("frequency", 50))}
        return next((key for key, (_, _, keys) in SUPPLIES.items() if keys == data), "other")

    def _set_supply(self, key):
        keys = SUPPLIES[key][2]
        if keys is None:
            return
        with self.desk.case.one_step():
            for name in ("system", "nominal", "frequency"):
                self.desk.case.put_single("supply", (name,), keys.get(name))

    def _earthing(self):
        """Return the earthing as the case is read, where it goes by another name there; as it is written, where it has faults."""
        case = self.desk.case.check().case
        return (case.supply.earthing or "") if case else str(self._data().get("earthing", ""))

    # Boards

    def _add_point(self):
        case = self.desk.case
        names = [str(b.data.get("name")) for b in case.entries("point")]
        name = next(n for n in ("board", *(f"board {k}" for k in range(2, 9999))) if n not in names)
        case.add("point", {"name": name, "fed_from": names[0]} if names else {"name": "intake"})

    # The fault

    def _fault(self):
        case = self.desk.case
        if case.entries("break"):
            return LISTED
        return NOTHING if case.document.head.data.get("break") == [] else UNKNOWN

    def _set_fault(self, value):
        case = self.desk.case
        with case.one_step():
            if value == LISTED:
                self._add_break()
            else:
                for block in case.entries("break"):
                    case.remove(block.uid)
                case.put(None, ("break",), [] if value == NOTHING else None)

    def _add_break(self):
        case = self.desk.case
        first = next((b.data.get("name") for b in case.entries("point")), None)
        case.add("break", {"conductor": "N", **({"feeding": first} if first else {}), "resistance": "open"})


class PointRow:
    """A place in the wiring."""

    def __init__(self, desk: Desk, uid: int):
        self.desk, self.uid, case = desk, uid, desk.case
        by = {f.key: f for f in fields("point")}
        cable = {f.key: f for f in fields("cable")}
        with Tag("div", classes="row-card", role="group"):
            with Tag("div", classes="grid"):
                self.parts = [
                    TextField("Name", lambda: str(case.entry(uid).get("name", "")), lambda text: set_point_name(case, uid, text),
                              lambda: case.check().of(uid, "name")),
                    ChoiceField("Fed from", self._sources, lambda: str(case.entry(uid).get("fed_from", "supply")),
                                lambda v: case.put(uid, ("fed_from",), None if v == "supply" else v), lambda: case.check().of(uid, "fed_from")),
                    *(generic(desk, cable[key], uid, ("cable", key)) for key in ("length", "area", "material")),
                    generic(desk, by["electrode"], uid, ("electrode",)),
                ]
            with folded("More on this board and its cable"), Tag("div", classes="grid"):
                self.parts += [generic(desk, by[key], uid, (key,)) for key in ("kind", "phases")]
                self.parts += [generic(desk, cable[key], uid, ("cable", key)) for key in cable
                               if key not in ("length", "area", "material")]
            self.error = Tag("p", "", "fault", role="alert")
            with Tag("div", classes="row-tools"):
                button("Remove", lambda: case.remove(uid), "quiet", f"Remove board {case.entry(uid).get('name', '')}")

    def _sources(self):
        names = [str(b.data.get("name")) for b in self.desk.case.entries("point") if b.uid != self.uid]
        return {"supply": "the supply", **{n: n for n in names}}

    def refresh(self):
        for part in self.parts:
            part.refresh()
        faults = [f.words for f in self.desk.case.check().faults if f.uid == self.uid and f.path in ((), ("cable",))]
        self.error.say("; ".join(faults))


class BreakRow:
    """A broken conductor, or a joint of high resistance."""

    def __init__(self, desk: Desk, uid: int):
        self.desk, case = desk, desk.case
        by = {f.key: f for f in fields("break")}

        def cables():
            return {str(b.data.get("name")): f"the cable to {b.data.get('name')}" for b in case.entries("point")}

        with Tag("div", classes="row-card", role="group"):
            with Tag("div", classes="grid"):
                self.parts = [
                    ChoiceField("Conductor", lambda: {"N": "neutral, or PEN where they are one", "L1": "line L1", "L2": "line L2",
                                                      "L3": "line L3", "PE": "protective conductor"},
                                lambda: str(case.entry(uid).get("conductor", "N")), lambda v: case.put(uid, ("conductor",), v),
                                lambda: case.check().of(uid, "conductor")),
                    ChoiceField("In", cables, lambda: str(case.entry(uid).get("feeding", next(iter(cables()), ""))),
                                lambda v: case.put(uid, ("feeding",), v), lambda: case.check().of(uid, "feeding")),
                    generic(desk, by["resistance"], uid, ("resistance",)),
                ]
            with Tag("div", classes="row-tools"):
                button("Remove", lambda: case.remove(uid), "quiet", "Remove this fault")

    def refresh(self):
        for part in self.parts:
            part.refresh()
