"""What counter and inclinometer read, and how sure that is."""
