"""The state of a budget drawn as a vessel: filled, brimful, spilling, or drawn in dashes where nothing is known.

Shape and fill say it without colour; the word always stands beside it.
"""

from functools import lru_cache

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QIcon, QPainter, QPainterPath, QPen, QPixmap

from wizard.budget.entry import State
from wizard.desktop import theme

_FILL: dict[State, float] = {"over": 1.0, "tight": 0.85, "room": 0.4, "unknown": 0.0}


SHARPNESS = 2.0
"""Dots drawn per pixel, so that the picture is sharp on a dense screen too."""


def vessel(state: State, side: int) -> QIcon:
    """The picture, `side` pixels square; the same whether its row is selected or not."""
    return _vessel(state, side, theme.colours().of_state(state).name())


@lru_cache(maxsize=64)
def _vessel(state: State, side: int, colour: str) -> QIcon:
    picture = QPixmap(round(side * SHARPNESS), round(side * SHARPNESS))
    picture.setDevicePixelRatio(SHARPNESS)
    picture.fill(Qt.GlobalColor.transparent)
    painter = QPainter(picture)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    draw_vessel(painter, QRectF(0, 0, side, side), state, QColor(colour))
    painter.end()
    icon = QIcon(picture)
    icon.addPixmap(picture, QIcon.Mode.Selected)
    return icon


def draw_vessel(painter: QPainter, box: QRectF, state: State, colour: QColor) -> None:
    """Draw the vessel into a box."""
    unit = box.width() / 16
    left, right, rim, foot = 3.0, 13.0, 5.0, 14.5
    fill = _FILL[state]

    def at(x: float, y: float) -> QPointF:
        return QPointF(box.left() + x * unit, box.top() + y * unit)

    def inset(y: float) -> float:
        return (y - rim) / (foot - rim) * 1.8

    if fill:
        level = foot - (foot - rim) * fill
        water = QPainterPath(at(left + inset(level), level))
        water.lineTo(at(right - inset(level), level))
        water.lineTo(at(right - inset(foot), foot))
        water.lineTo(at(left + inset(foot), foot))
        water.closeSubpath()
        painter.fillPath(water, colour)
    pen = QPen(colour, 1.5 * unit)
    pen.setCapStyle(Qt.PenCapStyle.RoundCap)
    if state == "unknown":
        pen.setDashPattern([0.8, 1.8])
    painter.setPen(pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    wall = QPainterPath(at(left, rim))
    wall.lineTo(at(left + inset(foot), foot))
    wall.lineTo(at(right - inset(foot), foot))
    wall.lineTo(at(right, rim))
    painter.drawPath(wall)
    if state == "over":
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(colour)
        heap = QPainterPath(at(left - 1.6, rim))
        heap.cubicTo(at(left + 1, 1.2), at(right - 1, 1.2), at(right + 1.6, rim))
        heap.closeSubpath()
        painter.drawPath(heap)
        for x in (left - 1.6, right + 1.6):
            painter.drawEllipse(at(x, 9.5), 1.1 * unit, 1.6 * unit)
