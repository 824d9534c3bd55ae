"""Fields to type a value into: units, what was understood, tables, pictures of what is meant."""
