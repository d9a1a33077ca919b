"""Claims on whether, and where, the circuit settles; on what was not followed; on what the reader of the case warned of."""

from lostneutral.claims.incident import Incident
from lostneutral.claims.model import About, Claim, Condition, Kind, Rank
from lostneutral.consequences.upstream import faulted
from lostneutral.loads import load_model

SEARCHED = "found by search; that there are no others has not been proved"
_CIRCUIT, _ALWAYS = About("circuit"), Condition("always")


def settled_states(case, before, after):
    """Yield what is known of the settled states: none, a cycle, none that holds, several, one of several."""
    attracting = [s for s in after.solutions if s.attracting]
    found = len(attracting)

    def claim(word, rank, because=SEARCHED, count=found, reason=after.reason):
        return Claim(Kind.SETTLING, _CIRCUIT, rank, condition=Condition("after"), quantity="settled states", unit="",
                     value=float(count), confidence="unsure", because=because, facts={"found": word, "reason": reason})

    if after.cycle:
        yield _cycle(after.cycle)
    elif not after.solutions:
        yield claim("none", Rank.WARNING, "unsure: nothing was found")
    elif after.ends == "cycle":
        yield claim("keeps changing", Rank.WARNING)
    elif not attracting:
        yield claim("none holds", Rank.WARNING)
    elif after.reached is None:
        yield claim("several" if len(attracting) > 1 else "not tested", Rank.WARNING)
    elif len(attracting) > 1:
        yield claim("one of several", Rank.NOTE)
    if not before.solutions:
        yield Claim(Kind.SETTLING, _CIRCUIT, Rank.WARNING, condition=Condition("before"), because="certain for the case as "
                    "given", facts={"found": "none before", "reason": before.reason})


def _cycle(cycle):
    """A claim on a circuit in which loads go off and come back for ever: its period, and what each restart brings."""
    names = tuple(dict.fromkeys(again["load"] for again in cycle["restarts"]))
    met = [volts for again in cycle["restarts"] for volts in again["met"].values()]
    return Claim(Kind.SETTLING, _CIRCUIT, Rank.WARNING, condition=Condition("after"), quantity="period", unit="s",
                 value=cycle["period"], confidence="unsure", because="calculated by following the loads' delays in time",
                 facts={"found": "cycle", "loads": names, "reason": "", "met": max(met, default=None)})


def not_followed(incident: Incident, why: str):
    """Yield a warning where an incident with events or early failures was not followed in time; `why` is its code."""
    if why:
        yield Claim(Kind.NOT_FOLLOWED, _CIRCUIT, Rank.WARNING, condition=_ALWAYS, confidence="unsure",
                    because="unsure: only the settled states are known", facts={"why": why})


def rectifiers(case):
    """Yield a warning where rectifier inputs, which phasors show only as a stand-in, share the broken neutral."""
    names = tuple(load.name for load in case.loads if load.on and "N" in load.connect
                  and load_model(load, case.supply)[0].stands_in)
    if names and any(b.conductor == "N" for b in case.breaks_after()):
        yield Claim(Kind.RECTIFIERS, _CIRCUIT, Rank.WARNING, condition=_ALWAYS, confidence="unsure", facts={"items": names},
                    because="unsure: voltages of lines with much rectifier load are approximate")


def reader_warnings(case):
    """Yield what the reader of the case accepted but wants said."""
    for text in case.warnings:
        yield Claim(Kind.READER, About("case"), Rank.WARNING, condition=_ALWAYS, because="follows from the case as given",
                    facts={"text": text})


def what_happened(incident: Incident):
    """Yield that nothing was broken at any time, or that what broke was mended within the incident."""
    if not incident.ever:
        yield Claim(Kind.NOTHING_BROKEN, About("installation"), Rank.NOTE, condition=_ALWAYS, confidence="certain",
                    because="certain: it is what the case says")
    elif not incident.lasts:
        spans = _spans(incident)
        yield Claim(Kind.MENDED, About("installation"), Rank.WARNING, condition=Condition("stage", *_ends(spans)),
                    confidence="certain", because="certain: it is what the case says", quantity="time", unit="s",
                    value=sum(b - a for a, b in spans),
                    facts={"spans": spans, "contact": {b.part for b in incident.case.breaks_ever()} == {"contact"}})


def _spans(incident):
    """Return (start, end) of every time in which something was broken, joined where they follow one another."""
    found = []
    for moment in incident.moments:
        where = moment.condition
        if not faulted(moment.case):
            continue
        if found and abs(found[-1][1] - where.start) < 1e-9:
            found[-1] = (found[-1][0], max(found[-1][1], where.end))
        elif not found or found[-1][1] < where.end:
            found.append((where.start, where.end))
    return tuple(found)


def _ends(spans):
    return (spans[0][0], spans[-1][1]) if spans else (0.0, 0.0)
