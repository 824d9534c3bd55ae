"""The help as somebody uses it: F1, pages, links, search, back and forward, keys, and what the program is."""

import re
from importlib.metadata import version

import pytest
from PySide6.QtCore import Qt, QUrl
from PySide6.QtGui import QAction, QGuiApplication
from PySide6.QtWidgets import QAbstractButton, QApplication, QLabel, QMenu
from pytestqt.qtbot import QtBot

from levelbench.gui.fields.entry_keys import HEAD, sections
from levelbench.gui.help.about import AboutDialog
from levelbench.gui.help.desk import place_of, shortcuts
from levelbench.gui.help.fields import anchor_of, fields_page
from levelbench.gui.help.pages import WRITTEN, Page, figures_page, headings, search, sections_of
from levelbench.gui.help.window import HelpWindow
from levelbench.gui.look.figures import FigureRow
from levelbench.gui.main_window import MainWindow
from levelbench.gui.stages.describe import keys_of
from levelbench.gui.stages.rehearse import FAULTS
from levelbench.gui.stages.staged import STAGE_PAGES
from levelbench.quantity import Dimension, Figure, Units
from levelbench.rig import kernel
from levelbench.tuning.prediction import ENTRY_STEPS

ALT, CONTROL = Qt.KeyboardModifier.AltModifier, Qt.KeyboardModifier.ControlModifier
LINK = re.compile(r"\[[^\]]+\]\(([^)]+)\)")
FIGURE = Figure("margin.gain", "gain margin", 2.7, Dimension.NUMBER, "1/|L|", (), "a book")


def opened(qtbot: QtBot, window: MainWindow, place: str = "start") -> HelpWindow:
    window.help.open(place)
    found = window.help.window
    assert found is not None
    qtbot.waitUntil(found.isActiveWindow)
    return found


def items(help_window: HelpWindow) -> list[str]:
    return [help_window.contents.item(at).text() for at in range(help_window.contents.count())]


# --- F1 --------------------------------------------------------------------------------------------------------------


def test_f1_in_a_field_opens_what_that_field_means(qtbot: QtBot, window: MainWindow) -> None:
    window.go_to("loop_settings.integral")
    qtbot.keyClick(QApplication.focusWidget(), Qt.Key.Key_F1)
    shown = window.help.window
    assert shown is not None
    assert shown.isVisible()
    assert shown.place == "fields#loop_settings.integral"
    assert shown.top_heading() == "integral"
    assert 0 <= shown.browser.cursorRect().top() < 30  # and that heading stands at the top


@pytest.mark.parametrize("at", range(6))
def test_f1_opens_the_page_of_the_stage(window: MainWindow, at: int) -> None:
    window.rail.choose(at)
    QApplication.focusWidget().clearFocus() if QApplication.focusWidget() else None
    window.help.open_here()
    assert window.help.window is not None
    assert window.help.window.place == STAGE_PAGES[at]


def test_a_figure_leads_to_its_meaning(qtbot: QtBot, window: MainWindow) -> None:
    row = FigureRow(FIGURE, Units("l", "mm", "l/min"))
    qtbot.addWidget(row)
    assert place_of(row.why) == "figures#margin.gain"
    page = figures_page([FIGURE])
    assert "In the trade: *gain margin*" in page.markdown
    assert "Source: a book" in page.markdown
    qtbot.mouseClick(row.why, Qt.MouseButton.LeftButton)
    said = [label.text() for label in row.findChildren(QLabel)]
    assert any(words.startswith("By how much the gain may grow") for words in said)
    assert "In the trade: gain margin." in said


def test_the_drawing_the_bench_and_the_rail_have_their_pages(window: MainWindow) -> None:
    assert place_of(window.centre) == "section"
    assert place_of(window.bar.run_button) == "bench"
    assert place_of(window.rail.buttons[0]) == "start"
    assert place_of(None) == ""


# --- pages -----------------------------------------------------------------------------------------------------------


def test_every_heading_has_an_anchor_and_every_link_a_goal(window: MainWindow) -> None:
    pages = {page.name: page for page in window.help.pages()}
    assert len(pages) == len(WRITTEN) + 4  # which are made from what they tell of
    for page in pages.values():
        assert len(page.anchors) == len(headings(page.markdown)) == len(sections_of(page)), page.name
        assert len(set(page.anchors)) == len(page.anchors), page.name
        for link in LINK.findall(page.markdown):
            name, _, anchor = link.partition("#")
            assert name in pages, (page.name, link)
            assert not anchor or anchor in pages[name].anchors, (page.name, link)


def test_every_entry_of_the_project_is_told(window: MainWindow) -> None:
    keys = [
        *HEAD,
        *(key for section in sections() for key in keys_of(section)),
        "bands.high.limit",
        "bands.low.on_delay",
    ]
    assert [key for key in keys if anchor_of(key) not in fields_page().anchors] == []


def test_the_headings_on_the_screen_are_those_of_the_page(qtbot: QtBot, window: MainWindow) -> None:
    shown = opened(qtbot, window)
    for page in window.help.pages():
        for at, anchor in enumerate(page.anchors):
            if at in (0, 1, len(page.anchors) - 1):
                shown.show_place(f"{page.name}#{anchor}")
                assert shown.top_heading() == headings(page.markdown)[at].replace("*", ""), page.name


def test_links_lead_on_and_back_and_forward_by_key(qtbot: QtBot, window: MainWindow) -> None:
    shown = opened(qtbot, window)
    shown.browser.anchorClicked.emit(QUrl("tune"))
    shown.browser.anchorClicked.emit(QUrl("formulas#delay"))
    assert shown.top_heading() == "Delay"
    assert not shown.forward.isEnabled()
    qtbot.keyClick(shown, Qt.Key.Key_Left, ALT)
    assert shown.place == "tune"
    qtbot.keyClick(shown, Qt.Key.Key_Left, ALT)
    assert shown.place == "start"
    assert not shown.back.isEnabled()
    qtbot.keyClick(shown, Qt.Key.Key_Right, ALT)
    assert shown.place == "tune"
    qtbot.mouseClick(shown.forward, Qt.MouseButton.LeftButton)
    assert shown.place == "formulas#delay"
    qtbot.keyClick(shown, Qt.Key.Key_Escape)
    assert not shown.isVisible()


def test_a_page_is_chosen_from_the_contents(qtbot: QtBot, window: MainWindow) -> None:
    shown = opened(qtbot, window)
    assert items(shown)[0] == "Start here"
    shown.contents.setCurrentRow(items(shown).index("Glossary"))
    qtbot.keyClick(shown.contents, Qt.Key.Key_Return)
    assert shown.place == "glossary"


def test_a_search_finds_sections_by_words(qtbot: QtBot, window: MainWindow) -> None:
    shown = opened(qtbot, window, "tune")
    qtbot.keyClick(shown, Qt.Key.Key_F, CONTROL)
    qtbot.keyClicks(shown.search, "nothing can follow")
    assert items(shown)[0].startswith("Wind-up")
    qtbot.keyClick(shown.search, Qt.Key.Key_Return)
    assert shown.place == "glossary#wind-up"
    shown.search.clear()
    qtbot.keyClicks(shown.search, "unicorn")
    assert items(shown) == ["Nothing found. Try fewer words."]
    qtbot.keyClick(shown.search, Qt.Key.Key_Return)
    assert shown.place == "glossary#wind-up"
    shown.search.clear()
    assert len(items(shown)) == len(WRITTEN) + 4


def test_a_search_wants_every_word_and_puts_headings_first() -> None:
    page = Page(
        "p", "P", "# P\n\nnothing\n\n## Other\n\nred lamp\n\n## Red\n\na lamp that is red", ("", "other", "red")
    )
    assert [one.place for one in search([page], "red")] == ["p#red", "p#other"]
    assert [one.place for one in search([page], "lamp that")] == ["p#red"]
    assert search([page], "  ") == []


def test_the_help_closes_with_its_window(qtbot: QtBot, window: MainWindow) -> None:
    shown = opened(qtbot, window)
    window.close()
    assert not shown.isVisible()


# --- what it says is so ----------------------------------------------------------------------------------------------


def test_every_shortcut_is_listed_and_none_is_taken_twice(window: MainWindow) -> None:
    def in_menus(menu: QMenu) -> list[QAction]:
        return [one for action in menu.actions() for one in (in_menus(action.menu()) if action.menu() else [action])]

    bar = [action.menu() for action in window.menuBar().actions()]
    real = [one.shortcut().toString() for menu in bar for one in in_menus(menu) if not one.shortcut().isEmpty()]
    listed = [keys for keys, _words in shortcuts(window)]
    assert sorted(listed) == sorted(real)
    assert len(set(listed)) == len(listed) >= 12
    page = next(one for one in window.help.pages() if one.name == "keys")
    assert "| F1 | Help ▸ Help on this |" in page.markdown
    assert "| Ctrl+S | File ▸ Save |" in page.markdown


def words_on(*labels: str, where: MainWindow) -> list[str]:
    said = {one.text() for one in where.findChildren(QAbstractButton)}
    return [label for label in labels if label not in said]


def test_the_buttons_that_the_help_names_are_there(window: MainWindow) -> None:
    told = {page.name: page.markdown for page in window.help.pages()}
    named = ("Prime", "Pour in", "Reset", "Power on", "Auto", "Manual")
    assert words_on(*named, "Silence", "STOP", where=window) == []
    assert all(name in told["rehearse"] for name in named)
    assert words_on("One scan", "▶ Run", where=window) == []


def test_numbers_in_the_help_are_those_of_the_program(window: MainWindow) -> None:
    told = {page.name: page.markdown for page in window.help.pages()}
    assert f"a table of {kernel.ROWS} rows" in told["model"]
    assert ENTRY_STEPS == 10
    assert "a step of ten entry steps" in told["tune"].replace("\n", " ")
    assert [words for words in FAULTS.values() if words not in told["rehearse"]] == []


def test_about_tells_the_versions_the_limits_and_the_licence(qtbot: QtBot, window: MainWindow) -> None:
    window.help.show_about()
    about = window.findChild(AboutDialog)
    assert about is not None
    for name in ("numba", "numpy", "levelbench"):
        assert version(name) in about.versions.text()
    assert "safety assessment" in about.limits.toPlainText()
    assert "Bitstream Vera" in about.licence.toPlainText()
    copy = next(one for one in about.findChildren(QAbstractButton) if one.text() == "Copy versions")
    qtbot.mouseClick(copy, Qt.MouseButton.LeftButton)
    assert f"numpy {version('numpy')}" in QGuiApplication.clipboard().text().splitlines()
    about.accept()
