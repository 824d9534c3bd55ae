"""Full sweeps of the garbage collector come in turns of their own."""

import gc
import weakref
from collections.abc import Iterator

import pytest
from PySide6.QtCore import QCoreApplication, QObject
from pytestqt.qtbot import QtBot

from levelbench.gui.work import sweeps
from levelbench.gui.work.slices import Slices
from levelbench.gui.work.sweeps import Sweeps


class Ring:
    """Refers to itself, so that only the collector can end it."""

    def __init__(self) -> None:
        self.self = self


@pytest.fixture
def swept(qapp: QCoreApplication, monkeypatch: pytest.MonkeyPatch) -> Iterator[list[dict[str, int]]]:
    """Every full sweep while the program has taken them over, and looks every 20 ms."""
    before, full = gc.get_threshold(), list[dict[str, int]]()

    def note(phase: str, info: dict[str, int]) -> None:
        if phase == "stop" and info["generation"] == 2:
            full.append(info)

    monkeypatch.setattr(sweeps, "EVERY", 20)
    parent = QObject()
    Sweeps(parent)
    gc.collect()
    gc.callbacks.append(note)
    yield full
    gc.callbacks.remove(note)
    gc.set_threshold(*before)
    parent.deleteLater()


def make_much() -> list[list[int]]:
    """Make so much that the collector would sweep everything by itself."""
    return [[at] for at in range(200_000)]


def test_none_comes_in_the_midst_of_work_and_one_soon_after(qtbot: QtBot, swept: list[dict[str, int]]) -> None:
    ring = Ring()
    gone = weakref.ref(ring)
    held = make_much()
    assert swept == []
    del ring
    qtbot.waitUntil(lambda: len(swept) == 1)
    assert gone() is None
    assert len(held) == 200_000


def test_it_waits_while_something_is_being_made(qtbot: QtBot, swept: list[dict[str, int]]) -> None:
    owner = QObject()
    slices = Slices(owner)
    held = make_much()
    seen: list[int] = []
    slices.also([lambda: (qtbot.wait(1), seen.append(len(swept)))] * 60)
    qtbot.waitUntil(lambda: len(seen) == 60)
    assert seen[-1] == 0
    qtbot.waitUntil(lambda: len(swept) == 1)
    assert len(held) == 200_000
    owner.deleteLater()
