"""A budget before and now: two bars against the same post, the limit. Draws figures that it is given.

The earlier bar is an outline and the later one solid, for hatching says everywhere that something is not known;
beyond the post both go on, and the words say what that means.
"""

from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QBrush, QColor, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QVBoxLayout, QWidget

from wizard.budget.entry import State
from wizard.desktop import theme
from wizard.desktop.widgets.text import Text, quiet


@dataclass(frozen=True)
class Bar:
    """One moment: what was used, the limit, the state, and all of it in words; None where nobody knows."""

    used: float | None
    limit: float | None
    state: State | None
    words: str


class BeforeAfter(QWidget):
    """One budget at one place, before and now."""

    def __init__(self, name: str, before: Bar, now: Bar) -> None:
        super().__init__()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(theme.px(0.1))
        column.addWidget(Text(name, bold=True))
        self.bars = _Bars(before, now)
        column.addWidget(self.bars)
        column.addWidget(quiet(self.tr("Before: %1. Now: %2.").replace("%1", before.words).replace("%2", now.words)))
        self.setAccessibleName(name)
        self.setAccessibleDescription(f"{before.words}; {now.words}")


class _Bars(QWidget):
    def __init__(self, before: Bar, now: Bar) -> None:
        super().__init__()
        self.pair = (before, now)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def sizeHint(self) -> QSize:
        return QSize(theme.px(16), theme.px(1.7))

    def scale(self) -> float:
        """Dots for one unit: the longest bar and the limits fit."""
        figures = [f for bar in self.pair for f in (bar.used, bar.limit) if f is not None]
        return (self.width() - 4) / max(max(figures, default=1.0), 1e-9)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        colours, scale, high = theme.colours(), self.scale(), theme.px(0.65)
        for row, bar in enumerate(self.pair):
            top = row * (high + theme.px(0.2))
            trough = QRectF(0, top, self.width() - 1, high)
            painter.fillRect(trough, theme.mixed(colours.card, colours.line, 0.4))
            if bar.used is not None:
                colour = colours.of_state(bar.state) if bar.state is not None else QColor(colours.unknown)
                box = QRectF(0, top, max(bar.used * scale, 2), high)
                painter.setPen(QPen(colour, 1.5))
                painter.setBrush(QBrush(colour) if row else Qt.BrushStyle.NoBrush)
                painter.drawRect(box.adjusted(0.75, 0.75, -0.75, -0.75))
            if bar.limit is not None:
                x = bar.limit * scale
                painter.setPen(QPen(QColor(colours.text), 2))
                painter.drawLine(QPointF(x, top - 1), QPointF(x, top + high + 1))
