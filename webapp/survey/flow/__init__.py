"""What a pipe or a culvert carries."""
