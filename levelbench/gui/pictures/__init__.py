"""Pictures of every window, for people to look at."""
