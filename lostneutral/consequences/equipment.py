"""Words for the change of a lamp's light."""

from lostneutral import data


def light_before(details) -> float | None:
    """Return the light (of rated) of a lamp by its `details` before; None where it was off or gave none."""
    light = details.get("light")
    return None if brightness(light) in (None, "out") else light


def brightness(light: float | None) -> str | None:
    """Return "out", "dimmer", "unchanged", "brighter" or "glaring" for a lamp's light as a multiple of before."""
    if light is None:
        return None
    edge = data.load("yardsticks")["brightness"]
    if light < edge["out"]:
        return "out"
    if light < edge["unchanged_low"]:
        return "dimmer"
    if light <= edge["unchanged_high"]:
        return "unchanged"
    return "brighter" if light <= edge["glaring"] else "glaring"
