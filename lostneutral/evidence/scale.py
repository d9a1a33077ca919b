"""The verbal scale of support, and from where an observation counts as not explained and a cause plays a part."""

import numpy as np

from lostneutral import data

NOT_EXPLAINED = 0.5  #: probability, under every rival, that an observation does not mean what it says
EVEN = 6  #: decimals; probabilities (and bits) alike to these differ by rounding, and keep the order of the causes
UNDECIDED = 3.0  #: ratio of probabilities, or of likelihoods, within which two causes are not told apart
PLAYS = 0.01  #: posterior probability below which a cause plays no part in what is asked next and in what is said of it


def support(ratio: float) -> str:
    """Return the words of the verbal scale for a likelihood ratio of 1 or more."""
    scale = data.load("evidence")["scale"]
    return scale["words"][int(np.searchsorted(scale["upto"], ratio, side="right"))]
