"""Alarms that neither chatter nor come too late: their lifecycle, their design from noise and time, their proof."""
