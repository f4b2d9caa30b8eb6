"""The job pack: one zip with the report, the tables, the job itself, its photos and a manifest."""
