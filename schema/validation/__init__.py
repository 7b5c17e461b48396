"""A tree against the JSON Schema of its kind, and what does not fit in words."""
