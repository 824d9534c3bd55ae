"""One-sided filling: the pump can only add, so with the drain shut an overshoot stays. PI against a learning cut-off.

`law` is the cut-off that a controller can compute, `runs` fills the rig with either, `compare` says which wins here.
"""

from levelbench.tuning.filling.compare import Filling, Row, Size, best_of, fill
from levelbench.tuning.filling.law import CutOff, cut_off, equation, law_figures
from levelbench.tuning.filling.plan import Track

__all__ = ["CutOff", "Filling", "Row", "Size", "Track", "best_of", "cut_off", "equation", "fill", "law_figures"]
