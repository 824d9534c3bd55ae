"""The quiet bar under the header that says what happened to the file on the disk, and what can be done."""

from PySide6.QtWidgets import QHBoxLayout

from levelbench.gui.document.disk import Seen, State
from levelbench.gui.document.document import Document
from levelbench.gui.document.file_commands import FileCommands
from levelbench.gui.look.parts import Fitted, button, text
from levelbench.gui.look.theme import GRID


class DiskNotice(Fitted):
    """Hidden while the file is what is known of it. Nothing happens before the person presses something."""

    def __init__(self, document: Document, files: FileCommands) -> None:
        super().__init__()
        self.setProperty("role", "notice")
        self._document = document
        self.words = text("", "attention-strong", wrap=True)
        self.load_theirs = button(
            "Load theirs", files.load_theirs, tip="take what the file holds now; undo brings mine back"
        )
        self.keep_mine = button(
            "Keep mine", document.keep_mine, tip="stay with what is open; saving writes over theirs"
        )
        self.difference = button("Show the difference", files.show_difference, tip="line by line: mine and theirs")
        self.save_again = button("Save it again", files.save, tip="write the file anew in its old place")
        self.save_as = button("Save as …", files.ask_save_as, tip="save under another name or in another folder")
        layout = QHBoxLayout(self)
        layout.setContentsMargins(2 * GRID + 4, GRID, 2 * GRID, GRID)
        layout.setSpacing(GRID)
        layout.addWidget(self.words, 1)
        for one in (self.load_theirs, self.keep_mine, self.difference, self.save_again, self.save_as):
            layout.addWidget(one)
        document.watch.seen.connect(self.show_seen)
        self.show_seen(document.watch.last)

    def show_seen(self, seen: Seen) -> None:
        """Say what was seen, or go away when all is as it should be."""
        path, state = self._document.path, seen.state
        for one in (self.load_theirs, self.keep_mine, self.difference):
            one.setVisible(state is State.CHANGED)
        self.save_again.setVisible(state is State.GONE)
        self.save_as.setVisible(state in (State.GONE, State.FOLDER_GONE))
        if path is None or state is State.SAME:
            self.hide()
            return
        says = {
            State.CHANGED: f"▲ This file was changed by another program at {seen.clock}.",
            State.GONE: f"▲ {path.name} is no longer in its folder (seen at {seen.clock}): deleted, moved or renamed.",
            State.FOLDER_GONE: f"▲ The folder of {path.name} is gone (seen at {seen.clock}). Your work is safe here.",
        }
        self.words.setText(says[state])
        self.setAccessibleName(says[state])
        self.show()
