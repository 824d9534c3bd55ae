"""Ten questions about a new rig: what is asked, what may be answered, and what is assumed when nothing is said.

The questions are in the words of somebody with a tape and a bucket; every one may be left open. What the answers make
of a tank, a pump and a controller needs the rig, so that is worked out above (`levelbench.review.fresh`).
"""

from collections.abc import Mapping
from dataclasses import dataclass

from levelbench.project.fields import Entry
from levelbench.project.instruments import SENSOR_KINDS
from levelbench.project.machines import DRAIN_KINDS
from levelbench.quantity import Dimension, LevelBenchError, Quantity, QuantityError, Units, read, show

D = Dimension
Answers = Mapping[str, str]  # key of an ask → its text as typed; empty: left open

SYSTEMS = {
    "US gallons and inches": Units("US gal", "in", "US gal/min"),
    "litres and millimetres": Units("l", "mm", "l/min"),
    "imperial gallons and inches": Units("imp gal", "in", "imp gal/min"),
}
SHAPES = ("upright cylinder", "box", "lying cylinder", "cone bottom")
ROUND = ("upright cylinder", "lying cylinder", "cone bottom")
LEAST_SIZE, MOST_SIZE = 0.05, 5.0  # [m] of a tank that this interview makes a project for
_SIZES = {"diameter": ("12 in", "300 mm"), "length": ("24 in", "600 mm"), "width": ("10 in", "250 mm")}
_HEIGHT = ("15 in", "400 mm")


class InterviewError(LevelBenchError):
    """An answer that can't be used: `key` is the ask that it belongs to."""

    def __init__(self, key: str, reason: str) -> None:
        super().__init__(reason)
        self.key = key


@dataclass(frozen=True)
class Question:
    """One page of the interview: what is asked, why, and the boxes for the answer."""

    title: str
    why: str
    asks: Mapping[str, Entry]


def _size(label: str, help_text: str, *shapes: str) -> Entry:
    more = ("shape", shapes) if shapes else None
    return Entry(label, help_text, D.LENGTH, low=LEAST_SIZE, high=MOST_SIZE, only_for=more)


QUESTIONS = (
    Question(
        "What is the rig called?",
        "The name heads every sheet; the loop number stands in every tag: 310 makes LT-310.",
        {"title": Entry("name", "What people call it."), "loop": Entry("loop number", "As on your drawings.")},
    ),
    Question(
        "In which units do you think?",
        "Computed values are shown in them. You may type any unit anywhere.",
        {"units": Entry("units", "For what is computed.", choices=tuple(SYSTEMS))},
    ),
    Question(
        "What shape is the tank?",
        "The inside counts. A tank with a table of its own can be described later.",
        {"shape": Entry("shape", "The form of the inside.", choices=SHAPES)},
    ),
    Question(
        "How large is it inside?",
        "With a tape; from the lowest point of the floor to the rim.",
        {
            "diameter": _size("diameter", "Mean of three heights.", *ROUND),
            "length": _size("length", "Box: the long side. Lying: the straight part.", "box", "lying cylinder"),
            "width": _size("width", "Box: the short side.", "box"),
            "height": _size("height", "Floor to rim.", "upright cylinder", "box", "cone bottom"),
        },
    ),
    Question(
        "What does the pump's name plate say?",
        "The flow that it gives as installed, bucket and watch, is better still.",
        {
            "largest_flow": Entry("largest flow", "At full speed.", D.FLOW, above=0),
            "shut_off_head": Entry("shut-off head", "The lift at which it gives nothing more.", D.LENGTH, above=0),
        },
    ),
    Question(
        "How does the tank drain?",
        "Siphon and outlet run by gravity through a hand valve; a forced draw is another pump.",
        {"drain": Entry("drain", "How the liquid leaves.", choices=DRAIN_KINDS)},
    ),
    Question(
        "Which sensor looks at the level?",
        "Ultrasonic and radar hang above the liquid, a hydrostatic one weighs it from below.",
        {"sensor": Entry("sensor", "How it measures.", choices=SENSOR_KINDS)},
    ),
    Question(
        "Which volumes shall it hold?",
        "The operator can enter set points (SP) between these two.",
        {
            "low": Entry("lowest", "The lowest set point.", D.VOLUME, above=0),
            "high": Entry("highest", "The highest set point.", D.VOLUME, above=0),
        },
    ),
    Question(
        "In which steps is a volume entered?",
        "Finer than the loop can see is of no use; the check says how fine that is.",
        {"step": Entry("entry step", "Set points are multiples of it.", D.VOLUME, above=0)},
    ),
    Question(
        "What is the most that is drawn at once?",
        "All users together, at the worst moment. The pump must keep up with it. Then the project is made: what you "
        "left open is assumed, and every assumption stands beside its value in the project's file.",
        {"draw": Entry("largest draw", "The duty that the rig is built for.", D.FLOW, above=0)},
    ),
)
ASKS: dict[str, Entry] = {key: entry for question in QUESTIONS for key, entry in question.asks.items()}
_SKIPPED = {
    "title": "New tank",
    "loop": "100",
    "units": next(iter(SYSTEMS)),
    "shape": "upright cylinder",
    "drain": "siphon over the rim",
    "sensor": "ultrasonic",
}


def question_of(key: str) -> int:
    """Give the place of the question that an ask belongs to, from 0."""
    return next(at for at, question in enumerate(QUESTIONS) if key in question.asks)


def said(answers: Answers, key: str) -> str:
    """Give what was answered, empty when it was left open."""
    return answers.get(key, "").strip()


def applies(key: str, answers: Answers) -> bool:
    """Tell whether an ask has a meaning for the tank that was chosen."""
    only_for = ASKS[key].only_for
    return only_for is None or text_of(only_for[0], answers) in only_for[1]


def units_of(answers: Answers) -> Units:
    """Give the units that were chosen, or are assumed."""
    return SYSTEMS[text_of("units", answers)]


def text_of(key: str, answers: Answers) -> str:
    """Give the answer of an ask as typed, or what is assumed for it; empty where that is worked out from others."""
    if said(answers, key):
        return said(answers, key)
    if key in _SIZES or key == "height":
        return (_SIZES.get(key) or _HEIGHT)[units_of(answers).length == "mm"]
    return _SKIPPED.get(key, "")


def assumed(key: str, answers: Answers) -> str:
    """Say what is assumed when an ask is left open."""
    worked_out = {
        "largest_flow": "twice the largest draw, or what fills the tank in 8 minutes",
        "shut_off_head": "the flow does not depend on the lift",
        "low": "a third of what the tank holds",
        "high": "two thirds of what the tank holds",
        "step": "about half a per cent of the tank",
        "draw": "half of the pump's flow",
    }
    return worked_out.get(key) or text_of(key, answers)


def check(key: str, text: str) -> Quantity | None:
    """Read one answer; None for an open one and for words. Raises InterviewError with the reason."""
    entry = ASKS[key]
    if not text.strip():
        return None
    if entry.choices and text not in entry.choices:
        raise InterviewError(key, f"“{text}” is none of: {', '.join(entry.choices)}.")
    if entry.dimension is None:
        if key == "loop" and not text.strip().isalnum():
            raise InterviewError(key, f"“{text}” is no loop number: letters and digits only.")
        return None
    try:
        value = read(text, entry.dimension)
    except QuantityError as error:
        raise InterviewError(key, str(error)) from error
    bounds = (
        (entry.above is not None and value.si <= entry.above, "more than", entry.above),
        (entry.low is not None and value.si < entry.low * (1 - 1e-9), "at least", entry.low),
        (entry.high is not None and value.si > entry.high * (1 + 1e-9), "at most", entry.high),
    )
    for broken, words, bound in bounds:
        if broken and bound is not None:
            limit = show(bound, entry.dimension, value.unit)
            raise InterviewError(key, f"“{text.strip()}” must be {words} {limit}.")
    return value
