"""Teaching: a live window to explore a case, lessons and exercises."""
