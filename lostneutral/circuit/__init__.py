"""Wiring as equations: assembly, settled states."""
