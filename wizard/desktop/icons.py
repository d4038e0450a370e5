"""Icons of our own, drawn as SVG in one colour and tinted with the palette in use. A word always stands beside them.

Knows files and colours; nothing of what an icon stands for.
"""

from functools import lru_cache

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QColor, QIcon, QPainter, QPaintEvent, QPixmap
from PySide6.QtWidgets import QSizePolicy, QWidget

from wizard.desktop import theme
from wizard.store import resources

SHARPNESS = 2.0
"""Dots drawn per pixel, so that the picture is sharp on a dense screen too."""


def icon(name: str, colour: str | None = None, lines: float = 1.1) -> QIcon:
    """An icon for a button, as high as so many lines of text; None: in the colour of text."""
    return QIcon(picture(name, colour or theme.colours().text, theme.px(lines)))


def picture(name: str, colour: str, side: int) -> QPixmap:
    """An icon `side` pixels square. Raises OSError where there is none of that name."""
    return _picture(name, QColor(colour).name(), side)


@lru_cache(maxsize=256)
def _picture(name: str, colour: str, side: int) -> QPixmap:
    from PySide6.QtSvg import QSvgRenderer  # the first page has no icon and need not wait for it

    drawing = resources.icon(name).read_text("utf-8").replace("currentColor", colour)
    pixels = QPixmap(round(side * SHARPNESS), round(side * SHARPNESS))
    pixels.setDevicePixelRatio(SHARPNESS)
    pixels.fill(Qt.GlobalColor.transparent)
    painter = QPainter(pixels)
    QSvgRenderer(drawing.encode()).render(painter, QRectF(0, 0, side, side))
    painter.end()
    return pixels


class Icon(QWidget):
    """An icon beside text. `role` names one of the palette's colours, so that it follows light and dark."""

    def __init__(self, name: str, role: str = "text", lines: float = 1.25) -> None:
        super().__init__()
        self._name, self._role, self._lines = name, role, lines
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)

    def sizeHint(self) -> QSize:
        """A square."""
        return QSize(theme.px(self._lines), theme.px(self._lines))

    def paintEvent(self, event: QPaintEvent) -> None:
        """The icon in the colours of now."""
        colour = str(getattr(theme.colours(), self._role))
        QPainter(self).drawPixmap(0, 0, picture(self._name, colour, theme.px(self._lines)))
