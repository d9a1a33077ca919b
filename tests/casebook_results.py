"""Every case of the casebook analysed once for all tests of a process."""

from functools import cache
from pathlib import Path

from lostneutral import Result, analyse, read_case

FOLDER = Path(__file__).parents[1] / "casebook"
CASES = tuple(sorted(path.stem for path in FOLDER.glob("*.toml")))
LONG = frozenset({"dairy-farm", "farm-generator", "lamp-hall", "sixty-houses", "solar-roof", "ten-meters"})
"""Cases that take some seconds: the suite runs each once, other tests through the whole casebook take them with the benchmarks."""

LIKE_LESSONS = frozenset({"block-riser", "boat-shed", "dairy", "hotel-kitchen", "intermittent-joint", "lamps-one-by-one", "mill-cottage",
                          "office-floor", "row-of-cottages", "toll-house", "upstairs-flat", "village-hall"})
"""Cases whose lesson has no part that no other's has: the suite takes their lessons with the benchmarks."""


@cache
def result(name: str) -> Result:
    return analyse(read_case(FOLDER / f"{name}.toml"))
