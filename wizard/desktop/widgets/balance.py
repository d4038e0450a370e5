"""Evidence as weights on a beam: what speaks for a cause lies at the left, what speaks against it at the right.

Draws; weighs nothing itself. Each reason is a block as wide as its weight; those against are hatched, so that the
sides differ without colour. The beam leans to the heavier side. Reasons in words always stand below.
"""

from collections.abc import Sequence

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QBrush, QColor, QHelpEvent, QPainter, QPaintEvent, QPen, QPolygonF, QTransform
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from wizard.desktop import theme

MOST_LEAN = 5.0
"""Degrees by which the beam leans at most: it must stay a drawing and not throw the weights off."""

FULL = 40.0
"""Decibans that fill half of the beam; heavier sides are drawn to their own scale. Chosen for the eye."""


class Balance(QWidget):
    """`for_` and `against` are (weight in decibans, words) of each reason, the heaviest first."""

    def __init__(self, for_: Sequence[tuple[float, str]], against: Sequence[tuple[float, str]]) -> None:
        super().__init__()
        self._sides = (tuple(for_), tuple(against))
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName(self.tr("Balance of the evidence"))
        self.setAccessibleDescription(
            self.tr("For: %1 in %2 reasons. Against: %3 in %4 reasons.")
            .replace("%1", f"{self.total(0):.0f}")
            .replace("%2", str(len(for_)))
            .replace("%3", f"{self.total(1):.0f}")
            .replace("%4", str(len(against)))
        )

    def total(self, side: int) -> float:
        """Decibans on one side: 0 is for, 1 against."""
        return sum(weight for weight, _words in self._sides[side])

    def lean(self) -> float:
        """Degrees by which the beam leans, positive down at the left, where the reasons for it lie."""
        return max(-1.0, min(1.0, (self.total(0) - self.total(1)) / FULL)) * MOST_LEAN

    def sizeHint(self) -> QSize:
        """Room for the blocks and for a leaning beam."""
        return QSize(theme.px(20), theme.px(3.6))

    def _middle(self) -> QPointF:
        return QPointF(self.width() / 2, theme.px(2.3))

    def _half(self) -> float:
        return min(self.width() / 2 - theme.px(0.6), theme.px(19))

    def _turn(self) -> QTransform:
        # On a wide window even a few degrees would lift the ends out of the picture.
        most = theme.px(0.7) / max(self._half(), 1.0) * 57.3
        angle = max(-most, min(most, self.lean()))
        return QTransform().translate(self._middle().x(), self._middle().y()).rotate(-angle)

    def blocks(self, side: int) -> list[QRectF]:
        """The blocks of one side on a level beam, the pivot at 0, 0."""
        scale = self._half() / max(FULL, self.total(0), self.total(1))
        at, found = theme.px(0.35) * 1.0, []
        for weight, _words in self._sides[side]:
            width = max(weight * scale, 3.0)
            left = -at - width if side == 0 else at
            found.append(QRectF(left + 1, -theme.px(1.25), width - 2, theme.px(1.15)))
            at += width
        return found

    def paintEvent(self, event: QPaintEvent) -> None:
        """Pivot, beam, weights."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        colours = theme.colours()
        middle, half = self._middle(), self._half()
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(QColor(colours.quiet))
        foot = theme.px(1.0)
        painter.drawPolygon(
            QPolygonF([middle, middle + QPointF(-foot * 0.6, foot), middle + QPointF(foot * 0.6, foot)])
        )
        painter.setTransform(self._turn())
        painter.setPen(QPen(QColor(colours.text), 2.2, Qt.PenStyle.SolidLine, Qt.PenCapStyle.RoundCap))
        painter.drawLine(QPointF(-half, 0), QPointF(half, 0))
        for side, colour in enumerate((colours.for_, colours.against)):
            for box in self.blocks(side):
                painter.setPen(QPen(QColor(colour), 1.4))
                painter.setBrush(theme.mixed(colours.card, colour, 0.75 if side == 0 else 0.1))
                painter.drawRoundedRect(box, 2, 2)
                if side == 1:
                    painter.setBrush(QBrush(QColor(colour), Qt.BrushStyle.BDiagPattern))
                    painter.drawRoundedRect(box, 2, 2)

    def reason_at(self, place: QPointF) -> str:
        """The words of the reason drawn there, or nothing."""
        level = self._turn().inverted()[0].map(place)
        for side in (0, 1):
            for box, (_weight, words) in zip(self.blocks(side), self._sides[side], strict=True):
                if box.contains(level):
                    return words
        return ""

    def event(self, event: QEvent) -> bool:
        """A hint says which reason a block is."""
        if isinstance(event, QHelpEvent) and event.type() == QEvent.Type.ToolTip:
            QToolTip.showText(event.globalPos(), self.reason_at(QPointF(event.pos())), self)
            return True
        return super().event(event)
