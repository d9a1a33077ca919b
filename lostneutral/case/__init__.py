"""The case file: what was installed, what broke and what was seen."""

from lostneutral.case.model import (
    LINES, Assumption, Break, Cable, Case, Cross, Event, Load, Observation, Path, Point, Spread, Supply, Unknown)
from lostneutral.case.reader import case_schema, parse_case, read_case, starter

__all__ = ["LINES", "Assumption", "Break", "Cable", "Case", "Cross", "Event", "Load", "Observation", "Path", "Point",
           "Spread", "Supply", "Unknown", "case_schema", "parse_case", "read_case", "starter"]
