"""The steps at the left: where one is, what is done, what is left. Shows and says which was pressed."""

from dataclasses import dataclass
from typing import Literal

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QFont, QFontMetrics, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QAbstractButton, QSizePolicy, QVBoxLayout, QWidget

from wizard.desktop import theme

StepState = Literal["done", "here", "ahead", "passed_over"]


@dataclass(frozen=True)
class RailStep:
    """One step: a page's id, its name, how it stands, and whether one can go there now."""

    page: str
    name: str
    state: StepState
    reachable: bool


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
        """One line of text with air around it."""
        return QSize(QFontMetrics(self._font()).horizontalAdvance(self.text()) + theme.px(3), theme.px(2.3))

    def _font(self) -> QFont:
        return theme.sized(self.font(), 1.0, bold=True)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Cord, knot, name."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        colours = theme.colours()
        here, done = self._step.state == "here", self._step.state == "done"
        accent = QColor(colours.accent)
        middle, x, radius = self.height() / 2, theme.px(1.0), theme.em() * 0.34
        painter.setPen(QPen(QColor(colours.line), 2))
        painter.drawLine(QPointF(x, middle if self._first else 0), QPointF(x, middle if self._last else self.height()))
        painter.setPen(QPen(accent if here or done else QColor(colours.quiet), 2 if here else 1.5))
        painter.setBrush(accent if done else QColor(colours.rail))
        if self._step.state == "passed_over":
            painter.drawLine(QPointF(x - radius, middle), QPointF(x + radius, middle))
        else:
            painter.drawEllipse(QPointF(x, middle), radius * (1.25 if here else 1), radius * (1.25 if here else 1))
        if here:
            painter.setBrush(accent)
            painter.drawEllipse(QPointF(x, middle), radius * 0.45, radius * 0.45)
        text = QRectF(self.rect()).adjusted(theme.px(2), 0, -theme.px(0.4), 0)
        strong = here or (self.underMouse() and self._step.reachable)
        painter.setPen(QColor(colours.text if here or done else colours.quiet))
        painter.setFont(theme.sized(self.font(), 1.0, bold=here))
        painter.drawText(text, int(Qt.AlignmentFlag.AlignVCenter), self.text())
        if (strong and not here) or self.hasFocus():
            painter.setPen(QPen(accent, 1, Qt.PenStyle.SolidLine))
            width = QFontMetrics(painter.font()).horizontalAdvance(self.text())
            base = middle + theme.em() * 0.55
            painter.drawLine(QPointF(text.left(), base), QPointF(text.left() + width, base))


class Rail(QWidget):
    """All steps below one another."""

    pressed = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(theme.px(0.3), theme.px(0.8), theme.px(0.3), theme.px(0.8))
        self._column.setSpacing(0)
        self._shown: tuple[RailStep, ...] = ()
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
            if (old := item.widget()) is not None:
                old.setParent(None)
                old.deleteLater()
        for step in steps:
            knot = _Knot(step, self._words[step.state], step is steps[0], step is steps[-1])
            knot.clicked.connect(lambda _on=False, page=step.page: self.pressed.emit(page))
            self._column.addWidget(knot)
        self._column.addStretch(1)
