"""How a time of the run is written, wherever the window writes one."""

from levelbench.quantity import number_format


def clock(time: float, parts: bool = False) -> str:
    """Write a time of the run [s] as h:mm:ss, or with tenths of a second; the minus sign is a true one."""
    tenths = round(abs(time) * 10)
    whole, tenth = divmod(tenths, 10)
    sign = "−" if time < 0 and tenths else ""
    hours, minutes, seconds = whole // 3600, whole // 60 % 60, whole % 60
    return f"{sign}{hours}:{minutes:02d}:{seconds:02d}" + (f"{number_format().mark}{tenth}" if parts else "")
