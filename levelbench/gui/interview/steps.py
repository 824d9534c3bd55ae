"""The ten questions at a glance, each with what was said or that it is assumed; pressing one goes there."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QPushButton, QVBoxLayout, QWidget

from levelbench.gui.look.parts import restyle
from levelbench.project.interview import QUESTIONS, Answers, InterviewError, Question, applies, check, said

_SHORT = ("name", "units", "shape", "size", "pump", "drain", "sensor", "volumes", "step", "draw")
_ROOM = 17  # letters of an answer


class Steps(QWidget):
    """A column of buttons, one a question."""

    chosen = Signal(int)

    def __init__(self) -> None:
        super().__init__()
        layout = QVBoxLayout(self)
        layout.setSpacing(2)
        self.buttons: list[QPushButton] = []
        for at in range(len(QUESTIONS)):
            made = QPushButton()
            made.setProperty("role", "step")
            made.setAutoDefault(False)
            made.clicked.connect(lambda _on=False, number=at: self.chosen.emit(number))
            self.buttons.append(made)
            layout.addWidget(made)

    def show_answers(self, answers: Answers, at: int) -> None:
        """Say what was answered; the question in hand has a mark of its own."""
        for number, (question, short) in enumerate(zip(QUESTIONS, _SHORT, strict=True)):
            words = ", ".join(
                said(answers, key) for key in question.asks if said(answers, key) and applies(key, answers)
            )
            short_of = words if len(words) <= _ROOM else f"{words[: _ROOM - 1]}…"
            wrong = _why_not(answers, question)
            mark = "▸" if number == at else "✗" if wrong else "✓" if words else "○"
            made = self.buttons[number]
            made.setText(f"{mark} {number + 1} {short}: {short_of or 'left open'}".replace("&", "&&"))
            made.setAccessibleName(
                f"question {number + 1}, {short}: {words or 'left open'}. {wrong}".removesuffix(". ")
            )
            made.setToolTip(f"{question.title}\n{wrong}".strip())
            restyle(made, state="here" if number == at else "")


def _why_not(answers: Answers, question: Question) -> str:
    """Say why an answer can't be taken; "" when it can."""
    try:
        for key in question.asks:
            if applies(key, answers):
                check(key, answers.get(key, ""))
    except InterviewError as error:
        return str(error)
    return ""
