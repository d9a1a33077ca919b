"""What the voltages mean, as figures: limits, harm, touch, protection. Claims and words are made of them elsewhere."""

from lostneutral.consequences.cautions import cautions, one_caution
from lostneutral.consequences.harm import Harm, harm_of, harms
from lostneutral.consequences.wear import wears

__all__ = ["Harm", "cautions", "harm_of", "harms", "one_caution", "wears"]
