"""What of a test over many values the daily run takes."""

import pytest


def daily(values, wanted=None, several=False):
    """Return `values` as parameters, those `wanted` for the daily run (default: the first), the others for the thorough one; `several`
    if each has the values of several names."""
    values = list(values)
    wanted = values[:1] if wanted is None else wanted
    return [value if value in wanted else pytest.param(*(value if several else [value]), marks=pytest.mark.thorough) for value in values]
