"""What each stage says of itself on the rail. It needs none of the stages: they may not be there yet."""

import math
from dataclasses import fields

from levelbench.drawing.scene import Role
from levelbench.gui.document.document import Document
from levelbench.gui.rail import State
from levelbench.gui.stages.describe import empty_head, given
from levelbench.gui.work.answers import Answers
from levelbench.quantity import Dimension


def states(document: Document, answers: Answers) -> list[State]:
    """Give the state of the six stages."""
    have, asked = given(document)
    described = State("✓", f"all {asked} entries given") if have == asked else State("▲", f"{asked - have} to give")
    return [
        described,
        _checked(answers),
        _tuned(answers),
        _alarms(answers),
        State("", "run it by hand" if answers.checked else "waits for the rig"),
        _handed_over(document, answers),
    ]


def _checked(answers: Answers) -> State:
    """Say how the check stands."""
    if answers.trouble:
        return State("■", "can't be built", Role.STOP)
    if answers.checked is None:
        return State("", "preparing …" if answers.waiting else "working …")
    words = [one.severity.word for one in answers.checked.findings]
    stops, attends = words.count("stop"), words.count("attend")
    if stops:
        return State("■", f"{stops} to fix" + (f" · {attends} to weigh" if attends else ""), Role.STOP)
    if attends:
        return State("▲", f"{attends} to weigh", Role.ATTENTION)
    return State("✓", f"{len(words)} rules, all good")


def _tuned(answers: Answers) -> State:
    """Say how the tuning stands."""
    if answers.trouble or answers.tune_trouble:
        return State("■", "can't be worked out", Role.STOP)
    tuned = answers.tuned
    if tuned is None:
        return State("", "preparing …" if answers.waiting else "working …")
    if not tuned.margins.stable:
        return State("■", "unstable", Role.STOP)
    overshoot, settling = tuned.prediction.overshoot, tuned.prediction.settling
    shown_in = tuned.units
    over = shown_in.show(overshoot.si, Dimension.VOLUME, overshoot.resolution)
    if not math.isfinite(settling.si):
        return State("▲", f"over {over} · never settles", Role.ATTENTION)
    return State("", f"over {over} · settles {shown_in.show(settling.si, Dimension.TIME, 1.0)}")


def _alarms(answers: Answers) -> State:
    """Say the worst that the check says of an alarm."""
    if answers.checked is None:
        return State("", "preparing …" if answers.waiting else "working …" if not answers.trouble else "no rig yet")
    about = [one for one in answers.checked.findings if one.go_to.startswith("bands.")]
    bad = [one for one in about if one.severity.word != "good"]
    if not bad:
        bands = answers.checked.rig.project.bands
        count = sum(getattr(bands, one.name) is not None for one in fields(bands))
        return State("✓", f"{count} alarms, none in doubt")
    role = Role.STOP if bad[0].severity.word == "stop" else Role.ATTENTION
    return State(bad[0].severity.mark, bad[0].title, role)


def _handed_over(document: Document, answers: Answers) -> State:
    """Say how the hand-over stands."""
    if answers.trouble or answers.tune_trouble:
        return State("■", "no sheet yet", Role.STOP)
    missing = len(empty_head(document))
    if missing:
        return State("▲", f"{missing} entries of the head open", Role.ATTENTION)
    return State("✓", f"sheet ready, revision {document.project.sheet.revision}")
