"""How the window looks: colours by role for light and dark, sizes that grow with the text, three sizes of type.

Every length is a multiple of the line height of the user's own font, so larger text gets a larger window
furniture. Where the system asks for high contrast its own colours are kept.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QGuiApplication, QPalette
from PySide6.QtWidgets import QApplication, QWidget

from wizard.desktop.marks import Marks

if TYPE_CHECKING:  # so that the first page can stand before it is loaded
    from wizard.budget.entry import State

Role = QPalette.ColorRole
Group = QPalette.ColorGroup

TITLE = 1.55
HEADING = 1.18
SMALL = 0.92
"""Sizes of type as multiples of the user's own."""

TIGHT_GAP, GAP, WIDE_GAP = 0.3, 0.6, 1.2
"""Distances in lines of text: within a thing, between things, and at the edge of a page."""


@dataclass(frozen=True)
class Colours:
    """Colours by what they are for. Text colours reach a contrast of 4.5 to 1 on `page` and `card`
    (WCAG 2.2 §1.4.3). `over`, `tight` and `room` go from a red over a yellow to a blue, and differ in lightness too, so
    that they stay apart for eyes that do not tell red from green; `for_` and `against` are the pans of the balance."""

    page: str
    card: str
    rail: str
    line: str
    text: str
    quiet: str
    accent: str
    chosen: str
    on_accent: str
    over: str
    tight: str
    room: str
    unknown: str
    caution: str
    for_: str
    against: str

    def of_state(self, state: State) -> QColor:
        """The colour of a budget's state; never the only sign of it."""
        return QColor({"over": self.over, "tight": self.tight, "room": self.room}.get(state, self.unknown))


LIGHT = Colours(
    page="#f6f5f1", card="#ffffff", rail="#e9e7df", line="#c9c5b9", text="#23252b", quiet="#5c5d63",
    accent="#2f5d62", chosen="#d3e2e0", on_accent="#ffffff", over="#9a1038", tight="#7a5c00", room="#17608f",
    unknown="#5f5a78", caution="#fdf1d3", for_="#2f5d62", against="#8a4b2b",
)  # fmt: skip
DARK = Colours(
    page="#1f2124", card="#292c30", rail="#191b1d", line="#4b4f55", text="#e8e6e1", quiet="#aeb0b3",
    accent="#7fc0b5", chosen="#283d3b", on_accent="#10201e", over="#ff8f7a", tight="#f0cf6a", room="#86c5f0",
    unknown="#bdb4e0", caution="#40371d", for_="#7fc0b5", against="#e0a282",
)  # fmt: skip


def is_dark() -> bool:
    """Whether the window's own palette is a dark one."""
    return QGuiApplication.palette().color(Role.Window).lightness() < 128


def colours() -> Colours:
    """The colours in use now."""
    return DARK if is_dark() else LIGHT


def palette_of(chosen: Colours) -> QPalette:
    """Qt's palette from ours."""
    palette = QPalette()
    plain = {
        Role.Window: chosen.page, Role.WindowText: chosen.text, Role.Base: chosen.card, Role.Text: chosen.text,
        Role.AlternateBase: chosen.page, Role.Button: chosen.card, Role.ButtonText: chosen.text,
        Role.ToolTipBase: chosen.card, Role.ToolTipText: chosen.text, Role.PlaceholderText: chosen.quiet,
        Role.Highlight: chosen.chosen, Role.HighlightedText: chosen.text, Role.Link: chosen.accent,
        Role.Accent: chosen.accent, Role.Mid: chosen.line, Role.BrightText: chosen.over,
    }  # fmt: skip
    for role, colour in plain.items():
        palette.setColor(role, QColor(colour))
    faint = QColor(chosen.quiet)
    faint.setAlpha(150)
    for role in (Role.WindowText, Role.Text, Role.ButtonText, Role.PlaceholderText):
        palette.setColor(Group.Disabled, role, faint)
    palette.setColor(Group.Disabled, Role.Highlight, QColor(chosen.line))
    palette.setColor(Group.Disabled, Role.Accent, QColor(chosen.line))
    return palette


def apply(app: QApplication, dark: bool | None = None) -> None:
    """Dress the application; `dark` None follows the system. Called again when the system changes."""
    if not isinstance(app.style(), Marks):
        app.setStyle(Marks("fusion"))
    if dark is None:
        if _wants_contrast(app):
            return
        dark = app.styleHints().colorScheme() == Qt.ColorScheme.Dark
    app.setPalette(palette_of(DARK if dark else LIGHT))


def _wants_contrast(app: QApplication) -> bool:
    hints = getattr(app.styleHints(), "accessibility", None)  # only in Qt 6.10 and later
    return hints is not None and hints().contrastPreference() == Qt.ContrastPreference.HighContrast


def main_action_style() -> str:
    """A style sheet for the one button that leads on: accent ground, a double edge where the keyboard is."""
    now = colours()
    pad, side = px(0.3), px(1.1)
    return (
        f"QPushButton {{ background: {now.accent}; color: {now.on_accent}; border: 2px solid {now.accent};"
        f" border-radius: 4px; padding: {pad}px {side}px; font-weight: bold; }}"
        f"QPushButton:focus {{ border: 2px solid {now.text}; }}"
        f"QPushButton:hover {{ border: 2px solid {now.quiet}; }}"
        f"QPushButton:disabled {{ background: {now.page}; color: {now.quiet}; border: 2px solid {now.line}; }}"
    )


def mixed(ground: QColor | str, other: QColor | str, share: float) -> QColor:
    """A colour between two: `share` 0 is the first, 1 the second."""
    one, two = QColor(ground), QColor(other)
    pairs = ((one.redF(), two.redF()), (one.greenF(), two.greenF()), (one.blueF(), two.blueF()))
    red, green, blue = (a + (b - a) * share for a, b in pairs)
    return QColor.fromRgbF(red, green, blue)


def em(widget: QWidget | None = None) -> float:
    """One line of the user's text, in pixels."""
    font = widget.font() if widget is not None else QGuiApplication.font()
    return QFontMetricsF(font).height()


def px(lines: float) -> int:
    """A length in lines of text, in whole pixels."""
    return max(1, round(lines * em()))


def sized(font: QFont, factor: float, bold: bool = False) -> QFont:
    """A font of another size of the scale."""
    other = QFont(font)
    size = QGuiApplication.font().pointSizeF()
    if size > 0:
        other.setPointSizeF(size * factor)
    else:
        other.setPixelSize(round(QGuiApplication.font().pixelSize() * factor))
    other.setBold(bold)
    return other
