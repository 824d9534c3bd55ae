"""The run behind a figure: what a loop does in one corner of the box, whole, to be looked at."""

from levelbench.rig.panel import ENTRIES
from levelbench.rig.recording import Action
from levelbench.rig.run import run
from levelbench.tuning.prediction import Response
from levelbench.tuning.search.scenario import Scenario
from levelbench.tuning.search.target import Loop

_NAMES = {one.index: one.name for one in ENTRIES.values()}


def answers_of(scenario: Scenario, loop: Loop) -> tuple[Response, Response | None]:
    """Give the answers to the set point step and to the load step, None without a drain: the judged run itself."""
    member, scan = scenario.member(loop), scenario.rig.scan
    actions = [Action(at * scan, _NAMES[int(entry)], value) for at, entry, value in member.actions.tolist()]
    recording = run(scenario.rig, scenario.scans * scan, actions=actions, seed=scenario.seed)
    step = Response(recording, scenario.step_at * scan, scenario.load_at * scan)
    if scenario.rig.params.drain.kind == 0:
        return step, None
    return step, Response(recording, scenario.load_at * scan, scenario.scans * scan)
