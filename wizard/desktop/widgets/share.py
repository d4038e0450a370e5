"""Bars: a share of belief, and how far work has got. A number or a sentence always stands beside them."""

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPalette
from PySide6.QtWidgets import QProgressBar, QSizePolicy, QWidget

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


class Progress(QProgressBar):
    """How far work has got; without a share it only says that something goes on."""

    def __init__(self, name: str) -> None:
        super().__init__()
        self.setTextVisible(False)
        self.setAccessibleName(name)
        self.show_share(None)

    def show_share(self, share: float | None) -> None:
        """A share from 0 to 1, or None where nobody knows."""
        self.setRange(0, 0 if share is None else 1000)
        self.setValue(0 if share is None else round(share * 1000))
        palette = self.palette()
        palette.setColor(QPalette.ColorRole.Highlight, QColor(theme.colours().accent))
        self.setPalette(palette)
