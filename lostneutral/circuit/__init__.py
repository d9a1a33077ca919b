"""Wiring as equations: assembly, settled states, courses in time."""
