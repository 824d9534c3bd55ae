"""A new project from a short interview."""
