"""Work in slices: a turn of the event loop takes one slice, however many have work to do, and nobody is forgotten."""

import time
from collections.abc import Iterator
from functools import partial

import pytest
from PySide6.QtCore import QObject
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot
from shiboken6 import delete

from levelbench.gui.work.slices import SLICE, Slices

STEP = SLICE / 4


@pytest.fixture
def owner(qapp: QApplication) -> Iterator[QObject]:
    made = QObject()
    yield made
    delete(made)


def busy(seconds: float) -> None:
    end = time.thread_time() + seconds
    while time.thread_time() < end:
        pass


def test_several_share_one_slice_of_a_turn(qtbot: QtBot, owner: QObject) -> None:
    done: list[int] = []

    def step(number: int) -> None:
        busy(STEP)
        done.append(number)

    every = [Slices(owner) for _ in range(4)]
    for number, one in enumerate(every):
        one.also([partial(step, number)] * 8)
    most = 0
    while any(one.busy for one in every):
        before = len(done)
        QApplication.processEvents()
        most = max(most, len(done) - before)
    assert most <= SLICE / STEP + 1
    assert len(done) == 32
    assert set(done[:8]) == {0, 1, 2, 3}  # nobody waits until another has done everything


def test_steps_come_in_their_order_and_new_ones_take_their_place(qtbot: QtBot, owner: QObject) -> None:
    done: list[str] = []
    one = Slices(owner)
    one.also([lambda: done.append("never")])
    began = time.thread_time()
    one.do([lambda: busy(2 * SLICE), lambda: done.append("then")])
    assert time.thread_time() - began >= 2 * SLICE
    assert done == []  # the first step has been done, and it was long enough for one turn
    one.also([lambda: done.append("last")])
    qtbot.waitUntil(lambda: not one.busy)
    assert done == ["then", "last"]


def test_a_step_that_fails_does_not_keep_the_others_from_their_work(qtbot: QtBot, owner: QObject) -> None:
    done: list[str] = []

    def fail() -> None:
        raise ValueError("a step of a test")

    one, other = Slices(owner), Slices(owner)
    with qtbot.captureExceptions() as caught:
        one.also([fail, lambda: done.append("one")])
        other.also([lambda: done.append("other")])
        qtbot.waitUntil(lambda: len(done) == 2)
    assert [str(what) for _, what, _ in caught] == ["a step of a test"]


def test_whoever_goes_takes_the_steps_along(qtbot: QtBot, owner: QObject) -> None:
    done: list[str] = []
    gone, stays = QObject(), Slices(owner)
    Slices(gone).also([lambda: done.append("gone")])
    stays.also([lambda: done.append("stays")])
    delete(gone)
    qtbot.waitUntil(lambda: bool(done))
    assert done == ["stays"]
