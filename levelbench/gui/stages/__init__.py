"""The six stages of the job: one module each, each a card that the main window places beside the drawing."""
