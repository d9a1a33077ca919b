"""English: what is said of items of equipment, and of several with one outcome."""

from lostneutral.words.amounts import about, amount, listed, share, soon, volts
from lostneutral.words.said import Said

OUTCOMES = {
    "unharmed": "no damage expected", "shortened life": "reduced life", "fails in days": "failure expected within days",
    "fails in hours": "failure expected within hours", "fails in minutes": "failure expected within minutes",
    "fails in seconds": "failure expected within seconds", "works weakly": "reduced output", "dim": "dim",
    "gives no light": "no light", "does not run": "does not work", "goes on and off": "at its cut-off, going on and off",
    "runs hot": "overheats", "stalls": "stalls", "stalls and overheats": "stalls and overheats",
    "not known": "effect cannot be stated", "cannot be said": "cannot be said", "stressed for a time": "overstressed for a time",
    "was off": "was off"}
"""Every outcome of the result file, as it is printed."""
MODES = {"open": "open-circuit", "short": "short-circuit", "": ""}
DEVICES = {"yes": "would have disconnected first", "perhaps": "might have disconnected first", "no": "would not have saved it",
           "": ""}
IF_IT_LASTS = "if new, if the condition persists and no protection operates"


def part_words(found) -> str:
    """Return "filament (open-circuit)", or an empty text."""
    mode = MODES[found.mode]
    return f"{found.part} ({mode})" if found.part and mode else found.part


def time_words(found) -> str:
    """Return how soon an item is expected to fail, or an empty text."""
    return soon(found.earliest, found.central, found.latest) if found.fails or found.outcome == "shortened life" else ""


def item(claim, case) -> Said:
    """Return an item's one verdict with the voltage that decides it, its light and its power."""
    found, facts, name = claim.facts["verdict"], claim.facts, claim.about.name
    outcome = OUTCOMES[found.outcome]
    at = f"{name} would be at {about(found.volts, 'V')}" if found.volts is not None else f"{name} has no defined voltage"
    if found.volts is not None and (facts["above"] or facts["below"]):
        at += f", {share(found.ratio)} its rated {volts(facts['rated'])}"
    lead = f"{at}: {outcome}"
    if found.fails and found.central is not None:
        lead += f", {time_words(found)}, {IF_IT_LASTS}"
    elif found.outcome == "shortened life":
        lead += "; failure within a week is unlikely"
    elif found.outcome == "unharmed":
        lead = f"{at}: this condition alone is not expected to damage it"
    elif found.outcome == "cannot be said" and found.worst:
        lead += f"; in the worst possible state: {OUTCOMES[found.worst]}"
    elif found.outcome == "stressed for a time":
        lead += f"; had the condition persisted: {OUTCOMES[found.worst]}"
    return Said(name, f"{lead}.", _more(found, facts), None if found.volts is None else volts(found.volts))


def _more(found, facts):
    said = []
    if facts.get("light") is not None and abs(facts["light"] - 1) > 0.1:
        said.append(f"Its light would be {100 * facts['light']:.0f} % of that before.")
    if facts.get("power") is not None and abs(facts["power"] / facts["rated_power"] - 1) > 0.1:
        hot = facts["power"] > facts["rated_power"]
        element = f", element {about(facts['element'], '°C')}" if facts.get("element") else ""
        said.append(f"It would take {about(facts['power'], 'W')} instead of {amount(facts['rated_power'], 'W')}{element}"
                    + ("; it may overheat adjacent parts." if hot else "."))
    if found.part and (found.fails or found.worst):
        said.append(f"Component to inspect: {part_words(found)}.")
    if found.protected and found.fails:
        said.append(f"A power-frequency overvoltage device, had one been fitted, {DEVICES[found.protected]}.")
    if found.used and found.used >= 0.01 and not found.fails:
        said.append(f"About {100 * min(found.used, 1.0):.0f} % of its life would be used up in the period calculated.")
    if found.outcome == "unharmed":
        said.append("If it has failed, other causes should be investigated.")
    return " ".join(said)


def together(claims, case) -> Said:
    """Return several items of one outcome, each with its voltage, in one sentence."""
    first = claims[0].facts["verdict"]
    names = [f"{c.about.name} ({volts(c.value)})" if c.value is not None else c.about.name for c in claims]
    if first.outcome == "unharmed":
        lead = f"This condition alone is not expected to damage {listed(names)}."
        more = "If any of them has failed, other causes should be investigated."
    else:
        lead, more = f"{OUTCOMES[first.outcome][0].upper()}{OUTCOMES[first.outcome][1:]}: {listed(names)}.", ""
    return Said("Items: " + OUTCOMES[first.outcome], lead, more)


def surge_part(claim, case) -> Said:
    found = claim.facts["verdict"]
    when_ = time_words(found)
    return Said(claim.about.name, f"Fire risk: the surge-suppression component (varistor) of {claim.about.name} may overheat and burn at "
                f"{about(found.volts, 'V')}{f' ({when_})' if when_ else ''}.", "Do not leave it connected.",
                None if found.volts is None else volts(found.volts))
