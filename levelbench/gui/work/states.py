"""What each stage says of itself on the rail."""

from levelbench.drawing.scene import Role
from levelbench.gui.document.document import Document
from levelbench.gui.rail import State
from levelbench.gui.stages import alarms, check, describe, hand_over, tune
from levelbench.gui.work.answers import Answers


def states(document: Document, answers: Answers) -> list[State]:
    """Give the state of the six stages."""
    given, asked = describe.given(document)
    described = State("✓", f"all {asked} entries given") if given == asked else State("▲", f"{asked - given} to give")
    return [
        described,
        check.state(answers),
        tune.state(answers),
        _alarms(answers),
        State("", "run it by hand" if answers.checked else "waits for the rig"),
        hand_over.state(document, answers),
    ]


def _alarms(answers: Answers) -> State:
    """Say the worst that the check says of a limit."""
    if answers.checked is None:
        return State("", "preparing …" if answers.waiting else "working …" if not answers.trouble else "no rig yet")
    about = [one for one in answers.checked.findings if one.go_to.startswith("bands.")]
    bad = [one for one in about if one.severity.word != "good"]
    if not bad:
        count = sum(getattr(answers.checked.rig.project.bands, name) is not None for name in alarms.BANDS)
        return State("✓", f"{count} limits, none in doubt")
    role = Role.STOP if bad[0].severity.word == "stop" else Role.ATTENTION
    return State(bad[0].severity.mark, bad[0].title, role)
