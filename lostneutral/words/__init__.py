"""Sentences made from claims, one module a language; nothing else makes sentences of figures, and nothing reads them back."""
