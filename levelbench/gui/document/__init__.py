"""The open project as a document: its file, its edits, its copies, and the commands on them."""
