"""What happens in an installation when the neutral of a multi-phase supply breaks."""

__version__ = "0.1.0"
