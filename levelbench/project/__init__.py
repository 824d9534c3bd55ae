"""What the person describes: typed records, the text file they live in, its history, and saving it without loss.

May import: `levelbench.quantity`.
"""
