"""The course of an incident with wear: the likeliest one, and those with early and with late failures."""

from collections.abc import Mapping

from lostneutral.circuit.record import Course
from lostneutral.frozen import dataclass


@dataclass(frozen=True)
class Courses:
    """The central course; with wear also the `early` and the `late` one, by the ends of each law's band."""

    central: Course
    early: Course | None = None
    late: Course | None = None

    @property
    def named(self) -> Mapping[str, Course]:
        """The courses by name, central first."""
        found = {"central": self.central, "early": self.early, "late": self.late}
        return {name: course for name, course in found.items() if course is not None}
