"""Experiments that disturb a rig with care and measure what it does: an open-loop step, a relay, a set point step.

plan(rig, kind, wishes) ──▶ Plan: what will happen, its limits, what it needs, before anything moves
run_experiment(plan, seed) ──▶ Experiment: record, process with intervals, beside the loop model
by_hand(plan) ──▶ the same experiment as a sheet for a person at the real rig
"""

from levelbench.tuning.experiments.by_hand import Part, by_hand
from levelbench.tuning.experiments.errors import ExperimentError
from levelbench.tuning.experiments.experiment import Experiment, run_experiment
from levelbench.tuning.experiments.foreseen import foreseen
from levelbench.tuning.experiments.plan import plan
from levelbench.tuning.experiments.planned import BUMP, KINDS, RELAY, STEP, Plan, Wishes

__all__ = [
    "BUMP",
    "KINDS",
    "RELAY",
    "STEP",
    "Experiment",
    "ExperimentError",
    "Part",
    "Plan",
    "Wishes",
    "by_hand",
    "foreseen",
    "plan",
    "run_experiment",
]
