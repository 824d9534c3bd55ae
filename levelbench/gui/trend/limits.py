"""The limits of a project that the trend can draw as lines."""

from levelbench.project import Project

_VOLUMES = {"high_high": "high-high", "high": "high", "low": "low", "low_low": "low-low"}


def limits_of(project: Project) -> tuple[tuple[str, float], ...]:
    """Give name and volume [m3] of every limit in use, the highest first."""
    bands = ((name, getattr(project.bands, field)) for field, name in _VOLUMES.items())
    return tuple((name, band.limit.si) for name, band in bands if band is not None)
