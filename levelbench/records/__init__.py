"""Recordings on disk: CSV in and out, with the journal beside them."""
