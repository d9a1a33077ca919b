"""What the window shows at one moment: figures and words, before anything is drawn."""

from dataclasses import dataclass
from math import isinf

from lostneutral.case.model import Case
from lostneutral.circuit.waveform.picture import matters
from lostneutral.circuit.wiring import pen_run
from lostneutral.consequences import cautions
from lostneutral.consequences.equipment import brightness
from lostneutral.loads import load_model
from lostneutral.loads.catalogue import resolve
from lostneutral.report.result_file import verdict
from lostneutral.report.words import conductor_words, connection, number, significant, size
from lostneutral.teaching.window import settings as moves

LAMP_WORDS = {"out": "dark", "dimmer": "dim", "unchanged": "unchanged", "brighter": "bright", "glaring": "glaring"}
LOAD_WORDS = {"out": "dead", "dimmer": "weak", "unchanged": "unchanged", "brighter": "strong", "glaring": "excessive"}
PACE_WORDS = {None: "settled", 0.1: "10 × slower", 1.0: "real time", 60.0: "60 × faster"}
#: what a model tells of itself -> the word that goes before how much light or power there is
TOLD = {"over_melting": "burns out", "tripped": "tripped", "stalled": "stalled", "above_window": "overstressed",
         "above_range": "overstressed", "overheats": "overheats", "law_exceeded": "overstressed"}


@dataclass(frozen=True)
class Bar:
    """One load: its light (lamps) or power, times what it has at rated voltage; None where nothing can be said."""

    name: str
    connect: tuple[str, ...]
    on: bool
    quantity: str  #: "light" | "power" | "current" (loads that take no power)
    times: float | None
    word: str
    volts: float | None
    rated: str  #: "60 W", as set
    factor: float | None  #: times the power that the case gives; None where it has none to set


@dataclass(frozen=True)
class Frame:
    title: str
    place: str  #: the point shown
    corners: dict  #: line -> V at the point, to the supply's star point; those that are tied down
    outline: tuple  #: V, the voltage triangle (split-phase: the line) at the point, the supply's where a line is missing
    star: complex | None  #: V of the point's neutral; None = floating
    ghosts: tuple  #: (letter, V) of the star point in the other settled states
    volts: dict  #: line -> V to neutral, or None
    neutral_current: float | None  #: A through the joint
    bars: tuple[Bar, ...]
    joint: str  #: "neutral at intake: open"
    notes: tuple[str, ...]
    cautions: tuple[str, ...]  #: one line each
    hidden: bool
    pace: str
    predict: bool


class Rated:
    """What the loads of a case take at rated voltage, each worked out once."""

    def __init__(self):
        self._known = {}

    def __call__(self, case, at, factor):
        """Return (W, A) of load `at` of `case`, whose power is set to `factor`; its count is in it."""
        if (at, factor) not in self._known:
            load = case.loads[at]
            y = complex(load_model(load, case.supply)[0].response(load.voltage)[0])
            branches = load.count * (3 if len(load.connect) == 3 else 1)
            self._known[at, factor] = branches * load.voltage**2 * y.real, branches * load.voltage * abs(y)
        return self._known[at, factor]


def frame(session, rated) -> Frame:
    """Return what `session` shows now; `rated` is a `Rated` kept from one frame to the next."""
    case, settings, found = session.case, session.settings, session.solution
    point = case.points[settings.point]
    others = [s for s in session.solutions if s is not found]
    letters = {id(s): chr(ord("A") + n) for n, s in enumerate(session.solutions)}
    ghosts = tuple((letters[id(s)], s.nodes[point.name, "N"]) for s in others
                   if s.nodes.get((point.name, "N")) is not None) if len(session.solutions) > 1 else ()
    corners = {line: found.nodes.get((point.name, line)) for line in point.phases} if found else {}
    corners = {line: z for line, z in corners.items() if z is not None}
    return Frame(
        title=case.title, place=point.name, corners=corners,
        outline=tuple({**case.supply.phasors, **corners}.values()),
        star=found.nodes.get((point.name, "N")) if found else None, ghosts=ghosts,
        volts={line: size(found.voltage(point.name, line)) if found else None for line in point.phases},
        neutral_current=size(found.currents.get((settings.run, "N"))) if found else None,
        bars=tuple(_bar(case, at, load, found, settings.factors[at], rated) for at, load in enumerate(case.loads)),
        joint=joint_words(case, settings), notes=_notes(session, letters.get(id(found))), cautions=cautions(case, "short"),
        hidden=settings.hidden, pace=PACE_WORDS[settings.pace], predict=settings.predict)


def _bar(case, at, load, found, factor, rated):
    lamp, seen = resolve(load).kind == "lamp", found.loads[at] if found else None
    watts, amps = rated(case, at, factor)
    quantity = "light" if lamp else "power" if watts > 1e-3 * amps * load.voltage else "current"
    times = None
    if seen is not None and load.on and seen.voltage is not None:
        times = (seen.details.get("light", 0.0) if lamp else
                 seen.power / watts if quantity == "power" else size(seen.current or 0j) / (amps or 1.0))
    return Bar(load.name, load.connect, load.on, quantity, times, _word(case, load, lamp, seen, times),
               size(seen.voltage) if seen else None,
               _set_to(watts, "W") if quantity == "power" or lamp else _set_to(amps, "A"), factor if moves.scalable(load) else None)


def _set_to(value, unit):
    return f"{value:.3g} {unit}" if value < 999.5 else f"{value:.0f} {unit}"


def _word(case, load, lamp, seen, times):
    if not load.on:
        return "off"
    if times is None:
        return "not known"
    if seen.details.get("works") is False and verdict(case, seen.ratio) != "dead":
        return "not working"
    told = next((word for key, word in TOLD.items() if seen.details.get(key)), None)
    return told or (LAMP_WORDS if lamp else LOAD_WORDS)[brightness(times)]


def joint_words(case: Case, settings) -> str:
    """Return how the neutral of the joint stands, in words."""
    conductor = "PEN" if pen_run(case, case.point(settings.run)) else "Neutral"
    how = "sound" if settings.ohms == 0 else "open" if isinf(settings.ohms) else significant(settings.ohms, "ohm")
    return f"{conductor} to {settings.run}: {how}"


def _notes(session, letter):
    case, settings, state = session.case, session.settings, session.state
    others = [b for b in case.breaks_after() if (b.feeding, b.conductor) != (settings.run, "N")]
    said = [f"Also broken: {conductor_words(b.conductor)} to {b.feeding}." for b in others]
    said += [f"Also: {c.conductors[0]} and {c.conductors[1]} exchanged at {c.point}." for c in case.crosses]
    if matters(case):
        said.append("Rectifiers: pulses are not shown; see the report.")
    if session.problem:
        return (*said, f"No answer: {session.problem}")
    if settings.pace is not None:
        return (*said, f"Moving, {PACE_WORDS[settings.pace]}.")
    if not session.complete:
        return (*said, "Looking for other settled states …")
    if state.ends == "cycle":
        return (*said, "It does not settle: loads cut off and start again for ever.")
    if len(session.solutions) > 1:
        said.append(f"{len(session.solutions)} settled states; shown: {letter}. " + (
            "The loads do not decide which." if state.reached is None else "A is arrived at from the sound neutral."))
    return tuple(said)


def words(shown: Frame, full_cautions) -> str:
    """Return everything that the frame shows as lines of text, with the cautions in full."""
    lines = [shown.title, f"Shown: {shown.place}. {shown.joint}. Time: {shown.pace}."]
    if shown.hidden:
        lines.append("The readings are hidden: predict first.")
    else:
        lines += [f"{line} to neutral: {_unit(volts, 'V')}" for line, volts in shown.volts.items()]
        lines.append(f"Current in the neutral: {_unit(shown.neutral_current, 'A', 2)}")
        lines.append("Star point: " + ("floating, no figure can be given" if shown.star is None else
                                       f"{number(abs(shown.star))} V from the middle of the supply"))
        lines += [f"Settled state {letter}: star point {number(abs(at))} V from the middle" for letter, at in shown.ghosts]
    lines += [f"{bar.name} ({connection(bar)}, {bar.rated}): {_bar_words(bar, shown.hidden)}" for bar in shown.bars]
    lines += shown.notes
    return "\n".join([*lines, "", *(f"Caution: {text}" for text in full_cautions)]) + "\n"


def _bar_words(bar, hidden):
    if not bar.on:
        return "off"
    if hidden:
        return "on"
    times = "" if bar.times is None else f"{number(bar.times, 2)} times its rated {bar.quantity}, "
    return f"{times}{bar.word}, at {_unit(bar.volts, 'V')}"


def _unit(value, unit, decimals=1):
    return "no figure" if value is None else f"{number(value, decimals)} {unit}"
