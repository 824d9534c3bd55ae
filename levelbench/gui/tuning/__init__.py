"""The loop settings: in every form, with the equation and the response."""
