"""Colours can be read, and the window fits a small screen with large text."""

import pytest
from PySide6.QtGui import QColor, QFont
from PySide6.QtWidgets import QApplication

from wizard.desktop import theme
from wizard.desktop.jobs import Runner
from wizard.desktop.presenter import Presenter
from wizard.desktop.session import Source
from wizard.desktop.widgets.card import Column
from wizard.desktop.window import Window

TEXTS = ("text", "quiet", "accent", "over", "tight", "room", "unknown")


def luminance(colour: str) -> float:
    """Relative luminance: WCAG 2.2, definition of 'relative luminance'."""

    def linear(part: float) -> float:
        return part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4

    shade = QColor(colour)
    return 0.2126 * linear(shade.redF()) + 0.7152 * linear(shade.greenF()) + 0.0722 * linear(shade.blueF())


def contrast(one: str, other: str) -> float:
    """Contrast ratio: WCAG 2.2, definition of 'contrast ratio'."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_contrast_of_black_on_white_is_21_as_the_guideline_says():
    assert contrast("#000000", "#ffffff") == pytest.approx(21)  # WCAG 2.2, range of the contrast ratio


@pytest.mark.parametrize("colours", [theme.LIGHT, theme.DARK], ids=["light", "dark"])
def test_every_text_colour_can_be_read_on_every_ground(colours):
    grounds = ("page", "card", "rail", "caution", "chosen")
    weak = {
        (text, ground): round(contrast(getattr(colours, text), getattr(colours, ground)), 2)
        for text in TEXTS
        for ground in grounds
        if not (text in ("over", "tight", "room", "unknown", "accent") and ground in ("rail", "caution"))
    }
    assert {pair: ratio for pair, ratio in weak.items() if ratio < 4.5} == {}  # WCAG 2.2 §1.4.3
    assert contrast(colours.on_accent, colours.accent) >= 4.5


@pytest.fixture
def large_text(qapp):
    before = QFont(qapp.font())
    large = QFont(before)
    large.setPointSizeF(before.pointSizeF() * 1.5)
    qapp.setFont(large)
    yield
    qapp.setFont(before)


def test_every_page_fits_1024_by_700_with_text_half_as_large_again(qtbot, engine, large_text):
    window = Window()
    qtbot.addWidget(window)
    presenter = Presenter(window, Runner(), lambda: engine)
    window.resize(1024, 700)
    window.show()
    presenter.start()
    visited = []

    def check():
        presenter.rest(10)
        for _ in range(3):
            QApplication.processEvents()
        page = window.pages[presenter.session.page]
        visited.append(presenter.session.page)
        assert (window.width(), window.height()) == (1024, 700)
        assert window.minimumSizeHint().width() <= 1024
        assert window.minimumSizeHint().height() <= 700
        shown = [c for c in page.findChildren(Column) if c.isVisible()]
        assert [c for c in shown if c.horizontalScrollBar().maximum() > 0] == []
        edge = window._first.mapTo(window, window._first.rect().bottomRight())
        assert edge.x() < 1024
        assert edge.y() < 700

    check()
    window.pages["trouble"].chosen.emit(("lag", "dropout"), None)
    check()
    window.press_primary()
    check()
    window.pages["look"].look_wanted.emit(Source("demo", "bench"), "")
    check()
    for answer in (None, None, "one", ("random",), 3.0, "same"):
        if answer is None:
            window.press_primary()
        else:
            asked = presenter.flow.question(presenter.session).question.observation
            window.pages["questions"].answered.emit(asked, answer)
        check()
    for _ in range(2):
        window.press_primary()
        check()
    window.press_primary()
    presenter.rest(10)
    window.pages["again"].outcome_said.emit("gone")
    check()
    window.press_primary()
    check()
    assert set(visited) == set(window.pages)
    window.close()
