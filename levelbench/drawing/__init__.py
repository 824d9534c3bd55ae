"""Drawings free of any toolkit: the section to scale and the small trend, as scenes of plain shapes."""
