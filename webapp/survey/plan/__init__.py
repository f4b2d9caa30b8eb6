"""Where a run goes in plan."""
