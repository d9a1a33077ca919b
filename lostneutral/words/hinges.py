"""What the answer hangs on: an assumed quantity set to both ends of its range, and what changes with it."""

from lostneutral.words.amounts import amount, at_places, volts
from lostneutral.words.items import OUTCOMES
from lostneutral.words.language import tell
from lostneutral.words.said import Said
from lostneutral.words.terms import VERDICTS


def hangs_on(claim, case):
    if not claim.facts["changes"]:
        return Said(tell("Quantities not varied"),
                    tell("{number} further assumed quantities were not varied.", number=int(claim.value)),
                    tell("{number} were.", number=claim.facts["varied"]), f"{int(claim.value)}")
    name = {"works_from": lambda: tell("The drop-out voltage of {item}", item=claim.about.name),
            "resistance": lambda: tell("The resistance of the joint in the cable to {point}", point=claim.about.name)}[claim.quantity]()
    low, high = claim.span
    told = [_change(c, amount(low, claim.unit), amount(high, claim.unit)) for c in claim.facts["changes"]]
    order = {"metalwork": 0, "item": 1, "line": 2}
    told = [text for _, text in sorted(zip((order[c.what] for c in claim.facts["changes"]), told), key=lambda p: p[0])]
    left = len(told) - 3
    more = "" if left < 1 else " " + (tell("And one further result changes.") if left == 1 else
                                      tell("And {number} further results change.", number=left))
    return Said(name, tell("{quantity} was assumed to be {figure}; the answer depends on it: {change}.", quantity=name,
                           figure=amount(claim.value, claim.unit), change=told[0]),
                f"{''.join(f'{t[0].upper()}{t[1:]}. ' for t in told[1:3])}{tell('Find out the value.')}{more}",
                tell("{figure}; varied from {low} to {high}", figure=amount(claim.value, claim.unit), low=amount(low, claim.unit),
                     high=amount(high, claim.unit)))


def _change(change, low, high):
    if change.what == "metalwork":
        shown = [tell("no settled state near") if v is None else volts(v) for v in (change.given, change.low, change.high)]
        return tell("metalwork at {point} would be at {given}, with {low} at {at_low}, with {high} at {at_high}", point=change.point,
                    given=shown[0], low=low, at_low=shown[1], high=high, at_high=shown[2])
    words = OUTCOMES if change.what == "item" else VERDICTS
    shown = [tell("another state") if v is None else tell(words[v]) if v in words else v
             for v in (change.given, change.low, change.high)]
    name = change.name if change.what == "item" else f"{change.name}{at_places((change.point,))}"
    return tell("{name}: {given}; with {low}: {at_low}; with {high}: {at_high}", name=name, given=shown[0], low=low, at_low=shown[1],
                high=high, at_high=shown[2])
