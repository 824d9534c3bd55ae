"""What the stack light shows when the project file says nothing about it.

The colours mean what they mean in IEC 60073 (red: emergency, act at once; yellow: abnormal, watch or step in; green:
normal; blue: somebody must act). Which state is called an emergency is common practice, no source. What is abnormal
flashes or sounds the horn, so that nobody has to tell it from normal by colour alone.
"""

from levelbench.project.alarms import LampRow

DEFAULT_ROWS = (
    LampRow("stop pressed", "steady", "off", "off", "off", horn=True, acknowledged="stays"),
    LampRow("switch tripped", "steady", "off", "off", "off", horn=True, acknowledged="stays"),
    LampRow("sensor failed", "off", "flashing", "off", "off", horn=True, acknowledged="stays"),
    LampRow("waiting for start", "off", "off", "off", "flashing", horn=False, acknowledged="stays"),
    LampRow("high-high", "flashing", "off", "off", "off", horn=True, acknowledged="stays"),
    LampRow("high", "off", "steady", "off", "off", horn=True, acknowledged="stays"),
    LampRow("low", "off", "flashing", "off", "off", horn=False, acknowledged="stays"),
    LampRow("low-low", "off", "flashing", "off", "off", horn=True, acknowledged="stays"),
    LampRow("deviation", "off", "flashing", "off", "off", horn=False, acknowledged="stays"),
    LampRow("rate of change", "off", "flashing", "off", "off", horn=False, acknowledged="stays"),
    LampRow("frozen signal", "off", "flashing", "off", "off", horn=True, acknowledged="stays"),
    LampRow("no rise", "off", "flashing", "off", "off", horn=True, acknowledged="stays"),
    LampRow("spill", "flashing", "off", "off", "off", horn=True, acknowledged="stays"),
    LampRow("manual", "off", "off", "off", "steady", horn=False, acknowledged="stays"),
    LampRow("normal", "off", "off", "steady", "off", horn=False, acknowledged="stays"),
)
