"""Colours can be read, and the window fits a small screen with large text."""

from itertools import combinations

import pytest
from PySide6.QtGui import QColor, QFont
from PySide6.QtWidgets import QApplication

from wizard.desktop import theme
from wizard.desktop.jobs import Runner
from wizard.desktop.presenter import Presenter
from wizard.desktop.session import Source
from wizard.desktop.widgets.card import Column
from wizard.desktop.window import Window

TEXTS = ("text", "quiet", "accent", "over", "tight", "room", "unknown", "for_", "against")


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
        if not (text not in ("text", "quiet") and ground in ("rail", "caution"))
    }
    assert {pair: ratio for pair, ratio in weak.items() if ratio < 4.5} == {}  # WCAG 2.2 §1.4.3
    assert contrast(colours.on_accent, colours.accent) >= 4.5


BLINDNESS = {
    # G. M. Machado, M. M. Oliveira, L. A. F. Fernandes, "A Physiologically-based Model for Simulation of Color Vision
    # Deficiency", IEEE TVCG 15 (6), 2009: matrices of severity 1.0 on linear RGB (figures from memory).
    "no red cones": (
        (0.152286, 1.052583, -0.204868),
        (0.114503, 0.786281, 0.099216),
        (-0.003882, -0.048116, 1.051998),
    ),
    "no green cones": (
        (0.367322, 0.860646, -0.227968),
        (0.280085, 0.672501, 0.047413),
        (-0.011820, 0.042940, 0.968881),
    ),
}


def seen(colour: str, matrix) -> tuple[float, float, float]:
    """A colour in CIELAB as such an eye sees it (CIE 15, white point D65)."""
    shade = QColor(colour)
    linear = [
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4
        for part in (shade.redF(), shade.greenF(), shade.blueF())
    ]
    red, green, blue = (min(max(sum(a * b for a, b in zip(row, linear, strict=True)), 0), 1) for row in matrix)
    x = (0.4124 * red + 0.3576 * green + 0.1805 * blue) / 0.9505
    y = 0.2126 * red + 0.7152 * green + 0.0722 * blue
    z = (0.0193 * red + 0.1192 * green + 0.9505 * blue) / 1.089
    fx, fy, fz = (t ** (1 / 3) if t > 0.008856 else 7.787 * t + 16 / 116 for t in (x, y, z))
    return 116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)


@pytest.mark.parametrize("blindness", BLINDNESS)
@pytest.mark.parametrize("colours", [theme.LIGHT, theme.DARK], ids=["light", "dark"])
def test_the_states_of_a_budget_stay_apart_for_eyes_that_do_not_tell_red_from_green(colours, blindness):
    states = {state: seen(getattr(colours, state), BLINDNESS[blindness]) for state in ("over", "tight", "room")}
    apart = {
        (a, b): sum((p - q) ** 2 for p, q in zip(states[a], states[b], strict=True)) ** 0.5
        for a, b in combinations(states, 2)
    }
    # A difference of 10 in CIELAB is seen at a glance: common practice (no source).
    assert {pair: round(d) for pair, d in apart.items() if d < 10} == {}


def test_a_mixed_colour_lies_between_its_two():
    assert theme.mixed("#000000", "#ffffff", 0.5).name() in ("#7f7f7f", "#808080")
    assert theme.mixed("#102030", "#ffffff", 0.0).name() == "#102030"


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
