"""Help where it is needed: pages, explanations of fields, the tour, the About page."""
