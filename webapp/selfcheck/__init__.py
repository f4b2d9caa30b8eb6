"""What the product is held against: reference values and coverage by simulation."""
