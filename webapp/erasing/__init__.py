"""The office's eraser: what would go, the act, its undoing, and what is left to clear."""
