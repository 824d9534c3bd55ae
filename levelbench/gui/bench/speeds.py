"""The speeds at which a run can be watched, and their words."""

SPEEDS = (1, 2, 5, 10, 20, 50, 100, 200)  # times the wall's clock


def speed_words(speed: int) -> str:
    """Give a speed as a person reads it."""
    return "real time" if speed == 1 else f"{speed} ×"
