"""The steps at the left: where one is, what is done, what is left. Shows and says which was pressed."""

from dataclasses import dataclass
from typing import Literal

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QFont, QFontMetrics, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QAbstractButton, QSizePolicy, QVBoxLayout, QWidget

from wizard.desktop import theme
from wizard.desktop.widgets.text import quiet

LEAST_WIDTH = 10.0
"""Width in lines of text that holds the longest name or note, so that the page beside it does not move."""

StepState = Literal["done", "here", "ahead", "passed_over"]


@dataclass(frozen=True)
class RailStep:
    """One step: a page's id, its name, how it stands, and whether one can go there now. `note` is small print below
    the name."""

    page: str
    name: str
    state: StepState
    reachable: bool
    note: str = ""


class _Knot(QAbstractButton):
    """One step on the cord."""

    def __init__(self, step: RailStep, words: str, first: bool, last: bool) -> None:
        super().__init__()
        self._step, self._first, self._last = step, first, last
        self.setText(step.name)
        self.setAccessibleName(f"{step.name}: {words}")
        self.setToolTip(words)
        self.setEnabled(step.reachable)
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus if step.reachable else Qt.FocusPolicy.NoFocus)
        if step.reachable:
            self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        self.setAttribute(Qt.WidgetAttribute.WA_Hover)

    def sizeHint(self) -> QSize:
        """One line of text with air around it, and one of small print where there is any."""
        wide = QFontMetrics(self._font()).horizontalAdvance(self.text())
        small = QFontMetrics(theme.sized(self.font(), theme.SMALL)).horizontalAdvance(self._step.note)
        return QSize(max(wide, small) + theme.px(3), theme.px(3.1 if self._step.note else 2.3))

    def _font(self) -> QFont:
        return theme.sized(self.font(), 1.0, bold=True)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Cord, knot, name, small print."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        colours = theme.colours()
        here, done = self._step.state == "here", self._step.state == "done"
        accent = QColor(colours.accent)
        middle, x, radius = theme.px(2.3) / 2, theme.px(1.0), theme.em() * 0.36
        walked = accent if done or here else QColor(colours.line)
        painter.setPen(QPen(walked, 2))
        if not self._first:
            painter.drawLine(QPointF(x, 0), QPointF(x, middle))
        painter.setPen(QPen(accent if done else QColor(colours.line), 2))
        if not self._last:
            painter.drawLine(QPointF(x, middle), QPointF(x, self.height()))
        painter.setPen(QPen(accent if here or done else QColor(colours.quiet), 2 if here else 1.5))
        painter.setBrush(accent if done else QColor(colours.rail))
        if self._step.state == "passed_over":
            painter.drawLine(QPointF(x - radius, middle), QPointF(x + radius, middle))
        else:
            painter.drawEllipse(QPointF(x, middle), radius * (1.25 if here else 1), radius * (1.25 if here else 1))
        if done:
            self._paint_tick(painter, QPointF(x, middle), radius)
        if here:
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(accent)
            painter.drawEllipse(QPointF(x, middle), radius * 0.45, radius * 0.45)
        text = QRectF(theme.px(2), 0, self.width() - theme.px(2.4), theme.px(2.3))
        strong = here or (self.underMouse() and self._step.reachable)
        painter.setPen(QColor(colours.text if here or done else colours.quiet))
        painter.setFont(theme.sized(self.font(), 1.0, bold=here))
        painter.drawText(text, int(Qt.AlignmentFlag.AlignVCenter), self.text())
        if self._step.note:
            self._paint_note(painter, text)
        if (strong and not here) or self.hasFocus():
            painter.setPen(QPen(accent, 1, Qt.PenStyle.SolidLine))
            width = QFontMetrics(painter.font()).horizontalAdvance(self.text())
            base = middle + theme.em() * 0.55
            painter.drawLine(QPointF(text.left(), base), QPointF(text.left() + width, base))

    def _paint_tick(self, painter: QPainter, middle: QPointF, radius: float) -> None:
        painter.setPen(QPen(QColor(theme.colours().on_accent), 1.6))
        corners = ((-0.5, 0.05), (-0.12, 0.42), (0.52, -0.4))
        painter.drawPolyline([middle + QPointF(dx * radius, dy * radius) for dx, dy in corners])

    def _paint_note(self, painter: QPainter, text: QRectF) -> None:
        painter.save()
        painter.setPen(QColor(theme.colours().quiet))
        painter.setFont(theme.sized(self.font(), theme.SMALL))
        below = QRectF(text.left(), theme.px(1.8), text.width(), theme.px(1.2))
        painter.drawText(below, int(Qt.AlignmentFlag.AlignLeft), self._step.note)
        painter.restore()


class Rail(QWidget):
    """All steps below one another, and how many are left."""

    pressed = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(theme.px(0.3), theme.px(0.8), theme.px(0.3), theme.px(0.8))
        self._column.setSpacing(0)
        self.setMinimumWidth(theme.px(LEAST_WIDTH))
        self._shown: tuple[RailStep, ...] = ()
        self._left = quiet("")
        self._left.setContentsMargins(theme.px(0.7), 0, 0, 0)
        self._words = {
            "done": self.tr("done"),
            "here": self.tr("you are here"),
            "ahead": self.tr("still ahead"),
            "passed_over": self.tr("not needed this time"),
        }

    def paintEvent(self, event: QPaintEvent) -> None:
        """The ground of the rail."""
        QPainter(self).fillRect(self.rect(), QColor(theme.colours().rail))

    def show_steps(self, steps: tuple[RailStep, ...]) -> None:
        """Show other steps; does nothing if they are the same."""
        if steps == self._shown:
            return
        self._shown = steps
        while (item := self._column.takeAt(0)) is not None:
            if (old := item.widget()) is not None and old is not self._left:
                old.setParent(None)
                old.deleteLater()
        for step in steps:
            knot = _Knot(step, self._words[step.state], step is steps[0], step is steps[-1])
            knot.clicked.connect(lambda _on=False, page=step.page: self.pressed.emit(page))
            self._column.addWidget(knot)
        self._column.addStretch(1)
        self._left.say(self._how_many(sum(step.state == "ahead" for step in steps)))
        self._column.addWidget(self._left)

    def _how_many(self, left: int) -> str:
        if left == 0:
            return self.tr("The last step")
        return self.tr("1 step left") if left == 1 else self.tr("%1 steps left").replace("%1", str(left))
