"""Survey functions put together: the figures of a run, a length, a condition."""
