"""A running rig that only remembers what was done to it."""


class Hands:
    def __init__(self) -> None:
        self.acts: list[tuple[str, float]] = []

    def act(self, what: str, value: float) -> None:
        self.acts.append((what, value))
