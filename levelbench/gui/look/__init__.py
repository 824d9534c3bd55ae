"""What everything on the screen is made of: colours, sizes, icons, small pieces, and how they end."""
