"""What is unlikely or missing, while it can still be mended."""
