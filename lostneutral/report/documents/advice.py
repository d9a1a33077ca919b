"""Texts that are not claims: what to do, to test, to keep, what would prevent it, as the data file has them."""

from math import isinf

from lostneutral import data
from lostneutral.circuit.wiring import pen_run
from lostneutral.claims.model import Kind
from lostneutral.consequences.protection import covered
from lostneutral.report.base.blocks import beneath
from lostneutral.words.language import beside, tell


def advice(result, of: str) -> tuple[str, ...]:
    """Return the texts of the list `of` ("do", "before", "keep", "prevent") that fit the case."""
    fits = _circumstances(result)
    return tuple(entry["text"] for entry in data.load("document")[of] if fits[entry["when"]])


def cautions_apart(result) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the result's cautions in two parts: those of the danger box, and the others; no caution is lost."""
    first = data.load("document")["first"]["cautions"]
    long = {entry["text"] for entry in data.load("cautions")["caution"] if entry["short"] in first}
    return (tuple(c for c in result.cautions if c in long), tuple(c for c in result.cautions if c not in long))


def what_to_tell(texts) -> list[str]:
    """Return texts of the data files in the language being spoken."""
    return [tell(text) for text in texts]


def both(texts) -> list:
    """Return texts on which a life may hang, in the language being spoken, and in English too until that was reviewed."""
    return [beneath(tell(text), english) if (english := beside(text)) else tell(text) for text in texts]


def precautions(result, short=False) -> list:
    """Return the cautions that do not stand in the danger box, their English by its short form; where room is scarce all of them so."""
    brief = {entry["text"]: entry["short"] for entry in data.load("cautions")["caution"]}
    made = []
    for caution in cautions_apart(result)[1]:
        said = tell(brief.get(caution, caution) if short else caution)
        made.append(beneath(said, english) if (english := beside(brief.get(caution, caution))) else said)
    return made


def emergency_call(case) -> tuple[str, ...]:
    """Return whom to call where the installation is; nothing where the country is not given."""
    country = case.document.country
    if country is None:
        return ()
    return (tell("Emergency number at the site: {number}.", number=data.load("emergency")[country]["number"]),)


def _circumstances(result):
    case, breaks = result.case, result.case.breaks_after()
    kinds = {c.kind for c in result.claims}
    combined = case.supply.earthing in (None, "TN-C", "TN-C-S")
    changed = [*case.breaks, *(e.change for e in case.events if e.change)]
    return {
        "always": True,
        "still faulty, one supply": result.incident.lasts and not case.generators,
        "still faulty, two supplies": result.incident.lasts and bool(case.generators),
        "contact": any(b.part == "contact" and b.conductor == "N" for b in case.breaks_ever()),
        "open": any(isinf(b.resistance) and b.conductor not in case.supply.lines for b in changed),
        "line open": any(isinf(b.resistance) and b.conductor in case.supply.lines for b in changed),
        "transposed": bool(case.crosses),
        "joint": any(0 < b.resistance < float("inf") for b in changed),
        "shared supply": combined and any(b.conductor == "N" and pen_run(case, case.point(b.feeding)) for b in breaks),
        "combined conductor": combined,
        "overvoltage device": covered(case),
        "above limits": Kind.LINE_ABOVE in kinds,
        "items at risk": any(c.kind is Kind.ITEM and c.rank < 4 for c in result.claims),
    }
