"""What the voltages mean: limits, findings and cautions."""

from lostneutral.consequences.cautions import cautions
from lostneutral.consequences.findings import findings

__all__ = ["cautions", "findings"]
