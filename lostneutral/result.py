"""The one object that terminal text, result file and report are renderings of."""

from collections.abc import Mapping
from dataclasses import field, replace
from functools import cached_property
from typing import TYPE_CHECKING

from lostneutral.case.model import Assumption, Case
from lostneutral.circuit.solution import State
from lostneutral.frozen import dataclass

if TYPE_CHECKING:
    from lostneutral.circuit.waveform.waves import Waveforms
    from lostneutral.claims.incident import Incident
    from lostneutral.claims.model import Claim
    from lostneutral.claims.verdicts import Verdict
    from lostneutral.consequences.course import Courses
    from lostneutral.consequences.harm import Harm
    from lostneutral.consequences.meters import Reading
    from lostneutral.evidence.deduction import Deduction
    from lostneutral.evidence.ranges import Ranges
    from lostneutral.studies.brief import Brief
    from lostneutral.studies.electrode_range import TouchRange
    from lostneutral.studies.hinges import Hinges
    from lostneutral.studies.inlets import OtherInlets
    from lostneutral.studies.joint import JointSweep
    from lostneutral.studies.lamps import LampDivision
    from lostneutral.studies.main_switch import Opened
    from lostneutral.studies.sensitivity import Sensitivity
    from lostneutral.words.findings import Finding


@dataclass(frozen=True)
class Result:
    """What a case works out to. Where loads draw pulses and waveforms are trusted, states, harms and claims are theirs.

    Studies that no claim rests on are worked out when they are first asked for (`readings`, `joint`, `lamps`, `sensitivity`, `inlets`).
    Complex figures are r.m.s. phasors (V, A), powers W and var, times s, temperatures K in `details`, °C in print.

    >>> from lostneutral import analyse, read_case
    >>> result = analyse(read_case("casebook/three-unequal-lamps.toml"))
    >>> result.after.unique, len(result.after.solutions)
    (True, 1)
    >>> result.claims[0].rank.name, result.claims[0].kind.value
    ('DANGER', 'neutral live')
    >>> f"{abs(result.after.reached.voltage('intake', 'L1')):.0f} V"
    '342 V'
    """

    case: Case
    before: State  #: every conductor sound, loads as first set
    after: State  #: the end of the incident, before anything fails by wear
    claims: "tuple[Claim, ...]" = ()  #: the gravest first
    cautions: tuple[str, ...] = ()
    assumptions: tuple[Assumption, ...] = ()  #: the reader's and the models'
    software: Mapping[str, str] = field(default_factory=dict)  #: version, python, numpy, scipy
    verdicts: "tuple[Verdict, ...]" = ()  #: one an item, in the case's order, over the whole incident
    harms: "tuple[Harm, ...]" = ()  #: of every load in every settled state after the break, if that lasts
    courses: "Courses | None" = None  #: the course in time, where it was followed
    waveforms: "Waveforms | None" = None  #: the pulses of rectifiers, where they were calculated
    sines: "Result | None" = None  #: what sine waves give, where waveforms took their place
    electrode: "TouchRange | None" = None  #: touch voltage over an electrode that the case does not give
    brief: "tuple[Brief, ...]" = ()  #: stages shorter than two cycles of the supply: see `studies.brief`
    opened: "tuple[Opened, ...]" = ()  #: what an open main switch leaves on metalwork: see `studies.main_switch`
    hinges: "Hinges | None" = None  #: what the answer hangs on
    ranges: "Ranges | None" = None  #: what unknown loads leave open, where they were sampled
    deduction: "Deduction | None" = None  #: what was seen says about the rival causes, where it was weighed
    not_weighed: str = ""  #: why what was seen could not be weighed, where that was tried
    not_followed: str = ""  #: code of why the incident was not followed in time, where it should have been
    others: "tuple[Verdict, ...]" = ()  #: of items at other premises, where this is seen from one of several
    waves_failed: str = ""  #: why waveforms that matter were not calculated
    metered: bool = False  #: whether there are `readings`

    @cached_property
    def findings(self) -> "tuple[Finding, ...]":
        """The claims in words, the gravest first."""
        from lostneutral.words.findings import findings

        return findings(self.claims, self.case)

    @cached_property
    def incident(self) -> "Incident":
        """Every stage of the incident, as far as it is known."""
        from lostneutral.claims.incident import incident

        return incident(self.case, self.before, self.after, None if self.sines else self.courses)

    @cached_property
    def readings(self) -> "tuple[Reading, ...]":
        """What a meter would show at each point after the break."""
        from lostneutral.consequences.weighing import studied_from
        from lostneutral.studies.readings import readings, readings_of_waves

        if not self.metered:
            return ()
        if self.sines:
            return readings_of_waves(self.case, self.waveforms.after, self.sines.readings)
        return readings(self.at_the_end, studied_from(self.after))

    @cached_property
    def joint(self) -> "JointSweep | None":
        """The high-resistance joint from sound to open; None if the case has none. Of sine waves."""
        from lostneutral.studies.joint import joint_of, joint_sweep

        if self.sines:
            return self.sines.joint
        return joint_sweep(self.at_the_end, known=self.after.reached) if joint_of(self.case) else None

    @cached_property
    def lamps(self) -> "tuple[LampDivision, ...]":
        """Lamps after the break beside the fixed resistors that they are often taken for. Of sine waves."""
        from lostneutral.studies.lamps import lamp_division

        if self.sines:
            return self.sines.lamps
        return lamp_division(self.at_the_end, self.after.reached) if self.after.reached else ()

    @cached_property
    def sensitivity(self) -> "Sensitivity | None":
        """What the chief inputs move; None where the settled state is undecided or not followed. Of sine waves."""
        from lostneutral.studies.sensitivity import sensitivity

        if self.sines:
            return self.sines.sensitivity
        return sensitivity(self.at_the_end, self.after.reached) if self.after.reached else None

    @cached_property
    def inlets(self) -> "tuple[OtherInlets, ...]":
        """The waveforms with other inlets and capacitors, where waveforms were calculated."""
        from lostneutral.studies.inlets import other_inlets

        if self.sines:
            return self.sines.inlets
        return other_inlets(self.case) if self.waveforms else ()

    @cached_property
    def at_the_end(self) -> Case:
        """The case with its loads and breaks as the incident leaves them."""
        return self.case.at_the_end()

    def seen_from(self, premises: str) -> "Result":
        """Return the result as it is for the premises that begin at the point `premises`: items, voltages and dangers there."""
        from lostneutral.claims.gather import at_premises

        there = self.case.beyond(premises)
        own = {load.name for load in self.case.loads if load.point in there}
        return replace(self, claims=at_premises(self.claims, self.incident, there),
                       verdicts=tuple(v for v in self.verdicts if v.item in own),
                       others=tuple(v for v in self.verdicts if v.item not in own))

    def studied(self) -> "Result":
        """Work out every study now, and return this result: what is rendered of it then solves nothing."""
        for _ in (self.readings, self.joint, self.lamps, self.sensitivity, self.inlets):
            pass
        return self
