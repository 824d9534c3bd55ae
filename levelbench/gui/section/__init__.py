"""The drawing of the tank as a section: seen, zoomed, dragged, typed beside, copied."""
