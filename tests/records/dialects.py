"""Tables of text in many dialects, made from values that are known: the other end of reading them."""

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

import numpy as np

EPOCH = datetime(2024, 3, 9, 22, 58, 57, tzinfo=UTC)  # the night in it has a midnight; 9 March could be 3 September


@dataclass
class Written:
    """One way to write a table; `text` is what comes of it."""

    separator: str = ","
    mark: str = "."
    quoted: bool = False
    ending: str = "\n"
    encoding: str = "utf-8"
    preamble: tuple[str, ...] = ()
    head: str = "brackets"  # brackets, round, behind, row
    time: str = "s"
    blank_lines: bool = False
    names: tuple[str, ...] = ("time", "PV", "OP", "SP")
    units: tuple[str, ...] = field(default=("s", "in", "%", "in"))

    def number(self, value: float) -> str:
        return repr(float(value)).replace(".", self.mark)

    def stamp(self, second: float) -> list[str]:
        at = EPOCH + timedelta(seconds=float(second))
        part = f"{at.microsecond // 1000:03d}"
        clock = f"{at:%H:%M:%S}.{part}"
        half = f"{(at.hour - 1) % 12 + 1}:{at:%M:%S} {'AM' if at.hour < 12 else 'PM'}"
        forms = {
            "iso": [f"{at:%Y-%m-%d}T{clock}"],
            "iso space": [f"{at:%Y-%m-%d} {clock}"],
            "zone": [f"{at:%Y-%m-%dT%H:%M:%S}Z"],
            "points": [f"{at:%d.%m.%Y} {clock}"],
            "halves": [f"{at.month}/{at.day}/{at.year} {half}"],
            "two columns": [f"{at:%Y-%m-%d}", clock],
            "clock": [clock],
        }
        return forms[self.time] if self.time in forms else [self.number(self.plain_time(second))]

    def plain_time(self, second: float) -> float:
        if self.time == "d":
            return 45360.5 + second / 86400
        return second / {"s": 1.0, "min": 60.0, "h": 3600.0, "ms": 1e-3}[self.time]

    def headings(self) -> list[list[str]]:
        names, units = list(self.names), list(self.units)
        units[0] = self.time if self.time in ("s", "min", "h", "ms") else ""
        if self.time == "two columns":
            names, units = ["date", *names], ["", *units]
        if self.head == "row":
            return [names, units]
        forms = {"brackets": "{} [{}]", "round": "{} ({})", "behind": "{}, {}"}
        both = zip(names, units, strict=True)
        return [[forms[self.head].format(name, unit) if unit else name for name, unit in both]]

    def lines(self, columns: tuple["np.ndarray", ...]) -> list[str]:
        rows = [
            [*self.stamp(time), *(self.number(one) for one in values)] for time, *values in zip(*columns, strict=True)
        ]
        lines = [self.joined(row) for row in (*self.headings(), *rows)]
        return [*self.preamble, *lines]

    def joined(self, cells: list[str]) -> str:
        needs = self.quoted or any(self.separator in one for one in cells)
        return self.separator.join(f'"{one}"' if needs else one for one in cells)

    def data(self, columns: tuple["np.ndarray", ...]) -> bytes:
        lines = self.lines(columns)
        ending = self.ending * 2 if self.blank_lines else self.ending
        return (ending.join(lines) + self.ending).encode(self.encoding)
