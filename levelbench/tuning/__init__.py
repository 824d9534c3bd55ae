"""Loop settings in every form, the linear loop and its margins, and what a run predicts of them."""
