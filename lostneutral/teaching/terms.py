"""What things are called by the kind of supply: a split-phase supply has neither a star point nor a triangle."""

from lostneutral.frozen import dataclass


@dataclass(frozen=True)
class Terms:
    """Nouns of one kind of supply, without articles."""

    common: str  #: where the loads' ends meet
    middle: str  #: what the neutral comes from
    shape: str  #: what the lines' voltages make in the diagram


_TERMS = {
    "three-phase": Terms("star point", "supply's star point", "triangle"),
    "split-phase": Terms("common point", "centre tap", "line"),
}


def terms(system: str) -> Terms:
    """Return the terms of a supply "three-phase" or "split-phase"."""
    return _TERMS[system]
