"""The few words that a notebook needs; `import levelbench as lb` offers each of them as its own."""
