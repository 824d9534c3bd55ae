"""A finding of the review on a card: its words, its figures, and the change tried before it is adopted."""
