"""What the writers of a pack are given: typed and ready to print."""
