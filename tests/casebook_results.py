"""Every case of the casebook analysed once for all tests of a process."""

from functools import cache
from pathlib import Path

from lostneutral import Result, analyse, read_case

FOLDER = Path(__file__).parents[1] / "casebook"
CASES = tuple(sorted(path.stem for path in FOLDER.glob("*.toml")))
LONG = frozenset({"dairy-farm", "fan-heater", "farm-generator", "lamp-hall", "map-office", "sixty-houses", "solar-roof", "ten-meters"})
"""Cases that take some seconds: for the thorough run."""

LIKE_LESSONS = frozenset({"bakery", "block-riser", "boat-shed", "corner-shop", "dairy", "hatchery", "hotel-kitchen", "intermittent-joint", "joinery",
                          "lamps-one-by-one", "map-office", "marina", "mill-cottage", "office-floor", "row-of-cottages", "shared-pipe",
                          "three-equal-lamps", "toll-house", "two-lamps-left", "upstairs-flat", "village-hall", "wrong-room"})
"""Cases whose lesson is like another's: for the thorough run."""


@cache
def result(name: str) -> Result:
    return analyse(read_case(FOLDER / f"{name}.toml"))
