"""The window. The only room that imports Qt."""
