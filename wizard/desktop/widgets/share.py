"""A share of belief as a bar on a scale from nothing to all. The number always stands beside it."""

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from wizard.desktop import theme


class ShareBar(QWidget):
    """A thin bar, filled to the share (0 to 1)."""

    def __init__(self, share: float, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._share = min(max(share, 0.0), 1.0)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def sizeHint(self) -> QSize:
        """A third of a line high."""
        return QSize(theme.px(8), theme.px(0.35))

    def paintEvent(self, event: QPaintEvent) -> None:
        """Trough and filling."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(Qt.PenStyle.NoPen)
        colours = theme.colours()
        radius = self.height() / 2
        painter.setBrush(QColor(colours.line))
        painter.drawRoundedRect(QRectF(self.rect()), radius, radius)
        painter.setBrush(QColor(colours.accent))
        width = max(self.width() * self._share, self.height())
        painter.drawRoundedRect(QRectF(0, 0, width, self.height()), radius, radius)
