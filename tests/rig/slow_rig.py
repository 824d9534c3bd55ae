"""A rig worked out slowly and obviously, sharing no code with the program's own scan: the oracle for closed-loop runs.

It reads the project's quantities, integrates the physics from scan to scan with scipy's stiff solver at a tight
tolerance, solves the drain's head balance by bracketing, and computes the controller in plain Python. It covers an
upright cylinder with one dead-wood rod, a variable-speed pump with thresholds and head droop, a primed siphon into a
reservoir that lies below its outlet, an ultrasonic sensor without noise whose update equals the scan, and PI control.
"""

import math

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from levelbench.project import Project

G = 9.80665  # [m/s2]


class SlowRig:
    """One loop, from its start, scan by scan."""

    def __init__(self, project: Project, gain: float, integral_time: float) -> None:
        self.project = project
        self.gain = gain  # [1/m3]
        self.integral_time = integral_time  # [s]
        self.volume = project.start.tank_volume.si
        self.flow = 0.0
        self.output = 0.0
        self.running = False
        self.set_point = project.start.set_point.si
        level = self.level(self.volume)
        self.readings = [level] * project.sensor.averaging
        self.pv = self.measured(level)
        tank = project.tank
        full = tank.height.si - tank.rim_to_spill.si if tank.leak_at is None else tank.leak_at.si
        self.hole = tank.leak.si / math.sqrt(full)  # [m3/s] under one metre; Torricelli's law
        self.integral = project.start.output.si - gain * (
            project.loop_settings.set_point_weight.si * self.set_point - self.pv
        )

    def level(self, volume: float) -> float:
        """Level [m] of a volume [m3]."""
        tank = self.project.tank
        (rod,) = tank.dead_wood
        area = math.pi / 4 * tank.diameter.si**2
        taken = math.pi / 4 * rod.diameter.si**2
        if volume <= area * rod.bottom.si:
            return volume / area
        return (volume - taken * rod.bottom.si) / (area - taken)

    def measured(self, level: float) -> float:
        """Volume [m3] that the controller makes of a mean level [m], through a converter without steps."""
        tank = self.project.tank
        (rod,) = tank.dead_wood
        taken = math.pi / 4 * rod.diameter.si**2
        return math.pi / 4 * tank.diameter.si**2 * level - taken * max(level - rod.bottom.si, 0.0)

    def surface(self, volume: float) -> float:
        """Height [m] of the reservoir's surface above the tank's floor."""
        one = self.project.reservoir
        held = one.charge.si - volume
        return held / one.capacity.si * one.height.si - one.floor_below_tank_floor.si

    def drain(self, volume: float) -> float:
        """Flow [m3/s] of the siphon."""
        one = self.project.drain
        head = self.level(volume) - one.outlet_above_floor.si
        valve = one.valve_cv.si * one.opening.si
        area = math.pi / 4 * one.tube_diameter.si**2
        viscosity = self.project.liquid.viscosity.si / self.project.liquid.density.si

        def lacking(flow: float) -> float:
            speed = flow / area
            reynolds = max(speed * one.tube_diameter.si / viscosity, 1e-9)
            rough = one.roughness.si / one.tube_diameter.si / 3.7
            haaland = (-1.8 * math.log10(rough**1.11 + 6.9 / max(reynolds, 4000.0))) ** -2
            between = 64 / 2000 + (haaland - 64 / 2000) * (reynolds - 2000) / 2000
            friction = 64 / reynolds if reynolds <= 2000 else haaland if reynolds >= 4000 else between
            losses = 1 + one.fittings_loss.si + friction * one.tube_length.si / one.tube_diameter.si
            return G * head - (flow / valve) ** 2 / 1000 - losses * speed**2 / 2

        return brentq(lacking, 1e-12, valve * math.sqrt(1000 * G * head), xtol=1e-16)

    def pump(self, volume: float) -> float:
        """Flow [m3/s] at which the pump settles under the present output."""
        one = self.project.pump
        if not self.running:
            return 0.0
        share = (self.output - one.stalls_at.si) / (1 - one.stalls_at.si)
        measured = one.slowest_flow.si + share * (one.largest_flow.si - one.slowest_flow.si)
        first = one.fill_end_above_floor.si - self.surface(self.project.start.tank_volume.si)
        now = one.fill_end_above_floor.si - self.surface(volume)
        squared = measured**2 + one.largest_flow.si**2 * (first - now) / (one.shut_off_head.si - first)
        return math.sqrt(max(squared, 0.0))

    def decide(self) -> None:
        """One step of the controller: average, filter, PI with the integral held in saturation."""
        loop = self.project.loop_settings
        h = loop.scan.si
        seen = self.measured(float(np.mean(self.readings)))
        self.pv += (1 - math.exp(-h / loop.pv_filter.si)) * (seen - self.pv)
        wanted = self.gain * (loop.set_point_weight.si * self.set_point - self.pv) + self.integral
        self.output = min(max(wanted, 0.0), 1.0)
        error = self.set_point - self.pv
        if not (wanted > 1 and error > 0) and not (wanted < 0 and error < 0):
            self.integral += self.gain * h / self.integral_time * error
        pump = self.project.pump
        self.running = self.output > 0 and self.output >= (
            pump.stalls_at.si if self.running else pump.starts_moving_at.si
        )

    def physics(self) -> None:
        """Integrate to the next scan, and take the sensor's reading there."""

        def rates(_time: float, state: NDArray[np.float64]) -> list[float]:
            volume, flow = state
            lost = self.drain(volume) + self.hole * math.sqrt(self.level(volume))
            return [flow - lost, (self.pump(volume) - flow) / self.project.pump.spin_up.si]

        span = (0.0, self.project.loop_settings.scan.si)
        found = solve_ivp(rates, span, [self.volume, self.flow], method="LSODA", rtol=1e-10, atol=1e-16)
        self.volume, self.flow = found.y[:, -1]
        self.readings = [*self.readings[1:], self.level(self.volume)]

    def run(self, scans: int, step_at: int, step_to: float) -> NDArray[np.float64]:
        """Run so many scans with one change of set point [m3]; gives volume [m3], PV [m3], output at each."""
        rows = []
        for scan in range(scans):
            if scan == step_at:
                self.set_point = step_to
            self.decide()
            rows.append((self.volume, self.pv, self.output))
            self.physics()
        return np.array(rows)
