"""What the voltages mean: limits, harm, findings and cautions."""

from lostneutral.consequences.cautions import cautions
from lostneutral.consequences.findings import findings
from lostneutral.consequences.harm import Harm, harm_of, harms
from lostneutral.consequences.wear import wears

__all__ = ["Harm", "cautions", "findings", "harm_of", "harms", "wears"]
