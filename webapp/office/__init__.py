"""What the office is shown of a job: an index of its records in memory, kept by the vector it stands for."""
