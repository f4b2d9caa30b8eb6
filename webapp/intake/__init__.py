"""Jobs and readings on their way into the data folder."""
