"""Every question that a check may ask: importing the modules that ask of loads, circuits and limits enters theirs."""

from lostneutral.verify import of_circuits, of_limits, of_loads  # noqa: F401 - see above
from lostneutral.verify.questions import QUESTIONS as QUESTIONS
