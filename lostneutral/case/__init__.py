"""The case file: what was installed, what broke and what was seen."""

from lostneutral.case.editors import case_schema, starter
from lostneutral.case.model import (
    LINES,
    Assumption,
    Break,
    Cable,
    Case,
    Cross,
    Event,
    Load,
    Observation,
    Path,
    Point,
    Supply,
    Unknown,
)
from lostneutral.case.reader import parse_case, read_case
from lostneutral.case.seen import Spread

__all__ = ["LINES", "Assumption", "Break", "Cable", "Case", "Cross", "Event", "Load", "Observation", "Path", "Point",
           "Spread", "Supply", "Unknown", "case_schema", "parse_case", "read_case", "starter"]
