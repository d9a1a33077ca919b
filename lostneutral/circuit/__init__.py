"""Wiring as equations: assembly, settled states, courses in time."""


def __getattr__(name):
    # On first use, so that a command that solves nothing does not wait for it.
    if name == "settle":
        from lostneutral.circuit.continued import settle

        return settle
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
