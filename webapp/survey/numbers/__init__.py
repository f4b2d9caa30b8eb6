"""Numbers that arithmetic can go on with, and the small mathematics that the rooms beside it need."""
