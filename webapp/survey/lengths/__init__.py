"""One length of pipe that was surveyed in pieces."""
