"""Text on a page: always plain, wrapped, selectable, in one of the sizes of the theme.

Foreign text (names from devices and files) is made harmless here and never read as markup.
"""

import re

from PySide6.QtCore import Qt
from PySide6.QtGui import QFontMetrics, QPalette, QResizeEvent
from PySide6.QtWidgets import QLabel, QSizePolicy

from wizard.desktop import theme
from wizard.report.clean import one_line

_LONG_WORD = re.compile(r"\S{30}(?=\S)")
BREAK_HERE = "\u200b"
"""A space of no width, at which a line may break."""


def breakable(text: str) -> str:
    """Text in which even a word of hundreds of letters can be wrapped."""
    return _LONG_WORD.sub(lambda found: found[0] + BREAK_HERE, text)


def harmless(text: str) -> str:
    """Several lines of text that may hold foreign parts: control and direction marks written out."""
    return "\n".join(one_line(line) for line in text.split("\n"))


class Text(QLabel):
    """A paragraph. `size` is one of the theme's; `quiet` text is for what is good to know but not to act on."""

    def __init__(self, text: str = "", size: float = 1.0, bold: bool = False, quiet: bool = False) -> None:
        super().__init__()
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setWordWrap(True)
        self.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.setCursor(Qt.CursorShape.IBeamCursor)
        self.setAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop)
        policy = QSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Minimum)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        if size != 1.0 or bold:
            self.setFont(theme.sized(self.font(), size, bold))
        if quiet:
            self.setForegroundRole(QPalette.ColorRole.PlaceholderText)
        self.say(text)

    def say(self, text: str) -> None:
        """Show other text."""
        self.setText(breakable(harmless(text)))


class Line(QLabel):
    """One line of small print that gives way: where it does not fit, its end is left out."""

    def __init__(self) -> None:
        super().__init__()
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setFont(theme.sized(self.font(), theme.SMALL))
        self.setForegroundRole(QPalette.ColorRole.PlaceholderText)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self._whole = ""

    def say(self, text: str) -> None:
        """Show other text."""
        self._whole = one_line(text)
        self._fit()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Fit the text to the new width."""
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        metrics = QFontMetrics(self.font())
        self.setText(metrics.elidedText(self._whole, Qt.TextElideMode.ElideMiddle, self.width()))


def title(text: str = "") -> Text:
    """The title of a page."""
    return Text(text, theme.TITLE, bold=True)


def heading(text: str = "") -> Text:
    """The heading of a part of a page."""
    return Text(text, theme.HEADING, bold=True)


def quiet(text: str = "") -> Text:
    """Small print."""
    return Text(text, theme.SMALL, quiet=True)
