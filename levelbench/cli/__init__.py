"""The command line: parse, call, print, exit code.

`verbs` declares every verb; the module of a verb is loaded when it is asked for, and its `do` gives the exit code.
May import everything; the window only in `window`.
"""
