"""A line drawing from the resources, in the colour of text, with the words that say what it shows. Knows no content."""

from PySide6.QtCore import QRectF, QSize
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtSvg import QSvgRenderer
from PySide6.QtWidgets import QHBoxLayout, QSizePolicy, QWidget

from wizard.desktop import theme
from wizard.desktop.widgets.card import Card
from wizard.desktop.widgets.text import quiet
from wizard.store import resources

WIDE, HIGH = 15.0, 7.5
"""Size in lines of text; the drawings are twice as wide as high."""


class _Picture(QWidget):
    def __init__(self, name: str) -> None:
        super().__init__()
        self._drawing = resources.drawing(name).read_text("utf-8")
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)

    def sizeHint(self) -> QSize:
        return QSize(theme.px(WIDE), theme.px(HIGH))

    def paintEvent(self, event: QPaintEvent) -> None:
        coloured = self._drawing.replace("currentColor", theme.colours().text)
        QSvgRenderer(coloured.encode()).render(QPainter(self), QRectF(self.rect()))


class Drawing(Card):
    """The drawing and its words beside it. Raises OSError where there is none of that name."""

    def __init__(self, name: str, words: str) -> None:
        super().__init__()
        self.setAccessibleName(self.tr("Drawing"))
        self.setAccessibleDescription(words)
        row = QHBoxLayout()
        row.setSpacing(theme.px(theme.WIDE_GAP))
        row.addWidget(_Picture(name))
        row.addWidget(quiet(words), 1)
        self.column.addLayout(row)
