"""Hand over: the sheet as it will be printed, what is still open, and the files that go out."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from pathlib import Path

from PySide6.QtCore import QTimer, Signal
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QWidget

from levelbench.gui.bench.warm import spare_the_sweeps
from levelbench.gui.document.document import Document
from levelbench.gui.document.save_name import ask_where_by_kind
from levelbench.gui.fields.entry_keys import declaration, name_of
from levelbench.gui.fields.forms import Form
from levelbench.gui.look.parts import Card, button, clear, column, line, row, text
from levelbench.gui.look.theme import GRID
from levelbench.gui.paper.pages import Page, Pages, render
from levelbench.gui.paper.whole_hand_over import WholeHandOver
from levelbench.gui.stages.describe import empty_head, keys_of
from levelbench.gui.work.answers import Answers, Checked, Tuned
from levelbench.gui.work.job_line import JobLine
from levelbench.gui.work.jobs import Job, Progress
from levelbench.project import SaveError, write_whole
from levelbench.project.file_names import loop_files

WIDTH = 392


@dataclass(frozen=True)
class Printed:
    """A sheet as HTML, as PDF, and as rendered pages."""

    html: str
    pdf: bytes
    pages: tuple[Page, ...]


class HandOver(QWidget):
    """The preview beside a card with the sheet's head and the buttons that write files."""

    go_to_check = Signal()
    go_to = Signal(str)  # key

    def __init__(self, document: Document, answers: Answers) -> None:
        super().__init__()
        self._document = document
        self._answers = answers
        self.printed: Printed | None = None
        self._printed_before = False
        self.pages = Pages()
        self.state_words = text("", "quiet", wrap=True)
        self.job_line = JobLine()
        self.card = Card("Hand over", "loop-settings sheet")
        self.card.setFixedWidth(WIDTH)
        self._open = column(gap=GRID // 2)
        self.head = Form(document, keys_of("sheet"))
        self.whole = WholeHandOver(document)
        self.save_pdf = button("Save PDF …", self._ask_pdf, "", "save the sheet as PDF")
        self.save_html = button("Save HTML …", self._ask_html, "", "save the sheet as HTML")
        self._build()
        answers.tuned_changed.connect(self._print_if_shown)
        answers.state_changed.connect(self._refresh)
        self._refresh()

    def _build(self) -> None:
        card = self.card
        card.body.addWidget(text("Still open", "subheading"))
        card.body.addLayout(self._open)
        card.body.addWidget(line())
        card.body.addWidget(text("Head of the sheet", "subheading"))
        card.body.addWidget(self.head)
        card.body.addStretch(1)
        card.foot.addWidget(self.state_words)
        card.foot.addWidget(self.job_line)
        card.foot.addLayout(row(self.save_pdf, self.save_html, None))
        card.foot.addWidget(line())
        card.foot.addWidget(self.whole)
        layout = QHBoxLayout(self)
        layout.setContentsMargins(GRID, GRID, GRID, GRID)
        layout.setSpacing(GRID)
        frame = QFrame()
        frame.setProperty("role", "card")
        inner = column(self.pages)
        inner.setContentsMargins(1, 1, 1, 1)
        frame.setLayout(inner)
        layout.addWidget(frame, 1)
        layout.addWidget(card)

    def showEvent(self, event: QShowEvent) -> None:  # noqa: N802  Qt's name
        """Print when the stage comes into sight and the sheet is out of date."""
        super().showEvent(event)
        QTimer.singleShot(0, self, self._print_if_shown)

    def _refresh(self) -> None:
        answers = self._answers
        if answers.tuned is None:
            self.printed = None
        ready = self.printed is not None
        self.save_pdf.setEnabled(ready)
        self.save_html.setEnabled(ready)
        self.whole.allow(answers.checked is not None)
        trouble = answers.trouble or answers.tune_trouble
        if trouble:
            self.state_words.setText(f"■ {trouble}")
        elif answers.waiting:
            self.state_words.setText("The first start prepares the rig; the sheet follows.")
        elif not ready:
            self.state_words.setText("The sheet is being made …")
        self.card.when_seen(self._list_open)

    def _list_open(self) -> None:
        clear(self._open)
        checked = self._answers.checked
        if checked is not None:
            stops = sum(one.severity.word == "stop" for one in checked.findings)
            attends = sum(one.severity.word == "attend" for one in checked.findings)
            role, mark = ("stop", "■") if stops else ("attention", "▲") if attends else ("body", "✓")
            counts = [f"{stops} to fix"] * bool(stops) + [f"{attends} to weigh"] * bool(attends)
            words = f"{mark} {', '.join(counts) or 'nothing open'} in the check"
            go = button("show them", self.go_to_check.emit, "link", "show the findings of the check")
            self._open.addLayout(row(text(words, role), None, go))
        for key in empty_head(self._document):
            go = button("fill in", partial(self.head.focus_on, key), "link", f"fill in: {name_of(key)}")
            self._open.addLayout(row(text(f"▲ {declaration(key).label}: empty", "quiet"), None, go))

    def _print_if_shown(self) -> None:
        checked, tuned = self._answers.checked, self._answers.tuned
        if self.printed is not None or checked is None or tuned is None or not self.isVisible():
            return
        paper = self._document.project.sheet.paper

        def work(progress: Progress) -> Printed:
            return _print(checked, tuned, paper, progress)

        self.job_line.follow(Job(self, work, self._have, self._failed, key="sheet", title="making the sheet"))

    def _have(self, printed: Printed) -> None:
        if not self._printed_before:
            self._printed_before = True
            spare_the_sweeps()  # the modules that print have come in
        self.printed = printed
        self.pages.show_pages(printed.pages)
        count = len(printed.pages)
        self.state_words.setText(f"{count} page{'s' if count != 1 else ''}, {self._document.project.sheet.paper}")
        self.save_pdf.setEnabled(True)
        self.save_html.setEnabled(True)

    def _failed(self, error: Exception) -> None:
        self.state_words.setText(f"■ The sheet could not be made: {error}")

    def _ask_pdf(self) -> None:
        if self.printed:
            self._ask("PDF (*.pdf)", ".pdf", self.printed.pdf)

    def _ask_html(self) -> None:
        if self.printed:
            self._ask("HTML (*.html)", ".html", self.printed.html.encode("utf-8"))

    def _ask(self, kinds: str, ending: str, content: bytes) -> None:
        name = f"{loop_files(self._document.project.loop)}-settings{ending}"
        path = ask_where_by_kind(self, "Save the sheet", name, {kinds: ending})
        if path is not None:
            self.write(path, content)

    def write(self, path: Path, content: bytes) -> None:
        """Write a file and say what became of it."""
        try:
            write_whole(path, content)
        except SaveError as error:
            self.state_words.setText(f"■ {error}")
        else:
            self.state_words.setText(f"✓ {path.name} written")


def _print(checked: Checked, tuned: Tuned, paper: str, progress: Progress) -> Printed:
    """Make the sheet, print it and render its pages; on a working thread."""
    from levelbench.handover.content import loop_settings_sheet  # noqa: PLC0415  the rig comes in when it is wanted
    from levelbench.handover.html import to_html  # noqa: PLC0415
    from levelbench.handover.pdf import to_pdf  # noqa: PLC0415
    from levelbench.tuning.proof import proof_of  # noqa: PLC0415

    proof = proof_of(checked.rig.project, lambda share: progress.report(0.4 * share, "proving"))
    sheet = loop_settings_sheet(checked.rig, tuned.prediction, checked.findings, proof)
    progress.report(0.4, "printing")
    pdf = to_pdf(sheet, paper)
    return Printed(to_html(sheet), pdf, render(pdf, progress))
