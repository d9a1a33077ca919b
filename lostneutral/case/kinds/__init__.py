"""The kinds of load and their keys: one class a kind, imported when a load is of it."""
