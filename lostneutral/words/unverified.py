"""What is said, for experts, of a figure that was not checked against its source."""

from lostneutral import data
from lostneutral.words.amounts import amount, plain
from lostneutral.words.dangers import EFFECTS
from lostneutral.words.language import tell

_ANSWERS = {zone: f"zone {zone}" for zone in EFFECTS}


def unverified(claim) -> tuple[str, ...]:
    """Return a text for each figure that decides `claim` and was not checked: what would follow within its spread."""
    return tuple(_told(found) for found in claim.unverified)


def _told(found):
    entry = next(e for e in data.load("unverified")["figure"] if e["key"] == found.key)
    value, low, high = (_figure(v, found.unit) for v in (found.value, *found.ends))
    given, at_low, at_high = (_ANSWERS.get(answer, answer) for answer in found.answers)
    first = tell("{name}, {value}: {known}.", name=entry["name"], value=value, known=data.KNOWN["M"])
    spread = data.KNOWN[entry["known"]]
    if not found.decides:
        then = tell("Between {low} and {high} ({spread}) the answer would be the same: {answer}.", low=low, high=high, spread=spread,
                    answer=given)
    else:
        then = tell("It decides: as taken, {given}; at {low}, {at_low}; at {high}, {at_high} (spread: {spread}). Look it up before relying "
                    "on this.", given=given, low=low, at_low=at_low, high=high, at_high=at_high, spread=spread)
    return f"{first} {then}"


def _figure(value, unit):
    return f"{plain(value, '.3g')} {unit}" if unit.startswith("×") else amount(value, unit)
