"""Teaching: lessons and exercises."""
