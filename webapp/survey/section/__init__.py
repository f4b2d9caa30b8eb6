"""The bore in section."""
