"""The alarm bands as a table."""
