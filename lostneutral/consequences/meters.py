"""What a meter shows."""

from lostneutral.frozen import dataclass


@dataclass(frozen=True)
class Reading:
    """What instruments show between two terminals of a point after the break."""

    point: str
    between: tuple[str, str]  #: "L1" … "N", "PE"; "earth" is a probe in remote earth
    loads_on: bool  #: False: every load at this point and beyond it is switched off
    high: float  #: V, high-impedance meter
    low: float  #: V, low-impedance tester
    warning: str = ""  #: how the reading deceives, if it does
