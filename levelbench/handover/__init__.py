"""Content and layout of the sheets, as HTML and PDF, free of Qt."""
