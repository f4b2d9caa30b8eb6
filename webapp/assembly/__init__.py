"""Records and figures put together into the report model."""
