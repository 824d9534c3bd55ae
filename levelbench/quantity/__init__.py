"""Quantities as a person types and reads them: the one place where units are known.

Above this room every number is a plain SI float; the text that was typed stays with the `Quantity` that it made.
May import: pint, and nothing else of this program.
"""
