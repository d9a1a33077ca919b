"""Every place at which the fault could be, with the neighbouring faults that an investigator must rule out."""

from collections.abc import Iterator
from math import inf

from lostneutral import data
from lostneutral.case.model import Break, Case, Cross, Point, Unknown
from lostneutral.circuit.wiring import conductor_name, conductors, pen_run
from lostneutral.frozen import dataclass

MOST_RUNS = 40  #: runs of which every kind of fault is tried; of more, only the open neutral
MOST_PLACES = 120  #: runs that are tried at all; of more, those that feed on, as many of them evenly spread
KINDS = ("open neutral", "bad joint", "line lost", "line lost as well", "line crossed with neutral",
         "protective conductor open")


@dataclass(frozen=True)
class Place:
    """One fault that could be: what is broken or exchanged, and nothing else."""

    kind: str  #: one of `KINDS`
    feeding: str  #: the run, by the point it feeds
    words: str  #: "open PEN in the cable to cottage 3"
    breaks: tuple[Break, ...] = ()
    crosses: tuple[Cross, ...] = ()

    @property
    def is_rival(self):
        """Whether it is another fault than an open or bad neutral alone."""
        return self.kind not in ("open neutral", "bad joint")


def places(case: Case) -> Iterator[Place]:
    """Yield every run with its neutral open, with a bad joint in it, and the rivals, in the order of the wiring."""
    few = len(case.points) <= MOST_RUNS
    for point in tried(case):
        yield _open(case, point)
        if few:
            yield from _joints(case, point)
            yield from _rivals(case, point)
    if few and sum(p.fed_from == "supply" for p in case.points) > 1:  # of a single one its own line says the same
        for line in case.supply.lines:
            yield Place("line lost", "", f"open line conductor {line} of the whole supply, or its fuse in the outgoing way at the transformer",
                        (Break("supply", line, inf, "way"),))


def tried(case: Case) -> tuple[Point, ...]:
    """Return the points whose runs are tried: all, or in a large case a spread of those that feed others."""
    if len(case.points) <= MOST_PLACES:
        return case.points
    feeding = {p.fed_from for p in case.points}
    on = [p for p in case.points if p.name in feeding]
    return tuple(on[:: -(-len(on) // MOST_PLACES)])


def kind_words(case: Case) -> dict[str, str]:
    """Return what each of `KINDS` is called in `case`, whose neutral may be a PEN everywhere, in parts or nowhere."""
    pens = [pen_run(case, p) for p in case.points]
    neutral = "PEN" if all(pens) else "neutral or PEN" if any(pens) else "neutral"
    return dict(zip(KINDS, (f"open {neutral}", f"high-resistance joint in the {neutral}", "open line conductor or its fuse",
                            f"open {neutral} and line conductor or its fuse", f"line and {neutral} transposed",
                            "open protective conductor only"), strict=True))


def joint_words(case: Case, point: Point, ohms: str = "") -> str:
    """Return a high-resistance joint in the neutral of the cable to `point` in words, with `ohms` behind it."""
    return f"high-resistance joint{ohms} in the {conductor_name(case, point.name, 'N')} of the cable to {point.name}"


def _open(case, point: Point):
    return Place("open neutral", point.name, f"open {conductor_name(case, point.name, 'N')} in the cable to "
                                             f"{point.name}",
                 (Break(point.name, "N", inf),))


def _joints(case, point):
    for ohms in data.load("where")["bad_joint"]["ohms"]:
        yield Place("bad joint", point.name, joint_words(case, point, f" ({ohms:g} Ω)"),
                    (Break(point.name, "N", ohms),))


def _rivals(case, point):
    called, cable = conductor_name(case, point.name, "N"), f"in the cable to {point.name}"
    for line in point.phases:
        lost, neutral = Break(point.name, line, inf), Break(point.name, "N", inf)
        conductor = f"line conductor {line} or its {_fuse(case, point, line)} {cable}"
        yield Place("line lost", point.name, f"open {conductor}, {called} intact", (lost,))
        yield Place("line lost as well", point.name, f"open {called} and {conductor}", (neutral, lost))
        yield Place("line crossed with neutral", point.name, f"{line} and {called} transposed at {point.name}", (),
                    (Cross(point.name, (line, "N")),))
    if "PE" in conductors(case, point):
        yield Place("protective conductor open", point.name, f"open protective conductor only, {cable}",
                    (Break(point.name, "PE", inf),))


def _fuse(case, point, line):
    """Return what could have opened `line` in the run to `point` by itself: "fuse", with its name where the case has it."""
    named = [f"{d.kind} ({d.name})" for d in case.devices if d.point == point.name
             and (d.kind == "fuse" and line in d.poles or d.kind == "circuit-breaker" and d.poles == (line,))]
    return named[0] if named else "fuse"


def resistance_of(case: Case, unknown: Unknown) -> str:
    """Return the name of the resistance that `unknown` leaves open; an empty text if it is of none."""
    if unknown.feeding is None:
        return ""
    called = conductor_name(case, unknown.feeding, unknown.conductor)
    return f"resistance of the {called} in the cable to {unknown.feeding}"
