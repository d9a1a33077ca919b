"""What must hold between the keys and tables of a case file."""


def check(draft, faults, warnings):
    """Add to `faults` whatever does not fit together in `draft`, and to `warnings` what fits but wants saying."""
