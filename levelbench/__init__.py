"""LevelBench: a bench on paper for a small tank that holds its volume by itself."""
