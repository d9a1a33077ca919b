"""Old and present conductor colours of a country, for the report's table."""

from lostneutral import data
from lostneutral.errors import UsageError


def colour_countries() -> tuple[str, ...]:
    """Return the names that `supply.old_colours` may have."""
    return tuple(entry["name"] for entry in data.load("conductor_colours")["country"])


def conductor_colours(country: str) -> tuple[dict, ...]:
    """Return the schemes of `country`, old before present, each a dict with keys `age` ("old" | "present"), `period`,
    `L1` `L2` `L3` `N` `PE` `PEN` (an empty text where there is none or it is not known), `source`, `known` (words).

    UsageError, with the names there are, if the country is not in the table. Sources stand in each scheme.
    """
    table = data.load("conductor_colours")
    entry = next((c for c in table["country"] if c["name"] == country), None)
    if entry is None:
        raise UsageError(f"no conductor colours for '{country}' — one of: {', '.join(colour_countries())}")
    schemes = entry["scheme"] + ([table["harmonised"]] if entry["harmonised"] else [])
    return tuple({**scheme, "known": data.KNOWN[scheme["known"]]} for scheme in schemes)


def colour_note(country: str) -> str:
    """Return what a reader of the country's colours must beware of, or an empty text."""
    return next((c.get("note", "") for c in data.load("conductor_colours")["country"] if c["name"] == country), "")
