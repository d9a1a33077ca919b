"""The investigator's report."""


def investigator(result):
    return []
