"""The trade's arithmetic.  Pure: no Flask, no database, no clock, no files, no randomness."""
