"""The boundary where a person's text becomes a number: the only module that knows pint."""
