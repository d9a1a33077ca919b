"""Claims on what the answer hangs on."""

from lostneutral.claims.model import About, Claim, Condition, Kind, Rank
from lostneutral.studies.hinges import Hinges


def hangs_on(found: Hinges | None):
    """Yield a warning for each assumed quantity that changes danger, an outcome or the sign of a deviation; and the count left."""
    for hinge in found.found if found else ():
        grave = [c for c in hinge.changes if c.what == "metalwork"]
        yield Claim(Kind.HANGS_ON, About("joint" if hinge.key == "resistance" else "item", hinge.of), Rank.WARNING,
                    condition=Condition("after"), quantity=hinge.key, unit=hinge.unit, value=hinge.given, span=hinge.ends,
                    confidence="unsure", because="the case worked out again with both ends of the quantity, one at a time",
                    facts={"changes": hinge.changes, "danger": bool(grave)})
    if found and found.left:
        yield Claim(Kind.HANGS_ON, About("case"), Rank.NOTE, condition=Condition("after"), quantity="quantities not varied",
                    value=float(found.left), confidence="unsure", because="left out to keep the work within bounds",
                    facts={"varied": found.varied, "changes": ()})
