"""What the product is held against: reference values, coverage by simulation, formulas only for these."""
