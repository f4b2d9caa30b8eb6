"""The office's eraser: what would go, the act, its undoing, and what is thrown away by age."""
