"""The physics, the sensor, the controller and the interlocks as one compiled scan, and the runs made of it.

May import: numpy, numba, and `levelbench.project` only where a Project is assembled into a Rig.
"""
