"""Tick boxes and pick marks, drawn so that they can be seen on a dark ground as well as on a light one.

Qt's own style draws their edge from the ground's colour, which vanishes where the ground is dark.
"""

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPalette, QPen
from PySide6.QtWidgets import QProxyStyle, QStyle, QStyleOption, QWidget

_Primitive = QStyle.PrimitiveElement
_TICKS = (_Primitive.PE_IndicatorCheckBox, _Primitive.PE_IndicatorItemViewItemCheck)
_PICK = _Primitive.PE_IndicatorRadioButton


class Marks(QProxyStyle):
    """Qt's plain style with marks of our own."""

    def drawPrimitive(
        self, element: QStyle.PrimitiveElement, option: QStyleOption, painter: QPainter, widget: QWidget | None = None
    ) -> None:
        """Draw our marks; leave the rest to Qt."""
        if element in _TICKS or element == _PICK:
            _draw_mark(painter, option, round_one=element == _PICK)
        else:
            super().drawPrimitive(element, option, painter, widget)
            if element == _Primitive.PE_PanelButtonCommand and option.state & QStyle.StateFlag.State_On:
                _draw_pressed_edge(painter, option)


def _draw_pressed_edge(painter: QPainter, option: QStyleOption) -> None:
    """A button that stays pressed has a thick edge: on a dark ground Qt's own shade hardly shows."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(QPen(option.palette.color(QPalette.ColorRole.Accent), 2.2))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawRoundedRect(QRectF(option.rect).adjusted(1.5, 1.5, -1.5, -1.5), 3, 3)
    painter.restore()


def _draw_mark(painter: QPainter, option: QStyleOption, round_one: bool) -> None:
    enabled = bool(option.state & QStyle.StateFlag.State_Enabled)
    on = bool(option.state & QStyle.StateFlag.State_On)
    group = QPalette.ColorGroup.Normal if enabled else QPalette.ColorGroup.Disabled
    edge = option.palette.color(group, QPalette.ColorRole.Accent if on else QPalette.ColorRole.PlaceholderText)
    side = min(option.rect.width(), option.rect.height()) - 2
    box = QRectF(option.rect.x() + 1.0, option.rect.y() + (option.rect.height() - side) / 2, side, side)
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(QPen(edge, 1.4))
    painter.setBrush(option.palette.color(group, QPalette.ColorRole.Base))
    if round_one:
        painter.drawEllipse(box)
    else:
        painter.drawRoundedRect(box, 2, 2)
    if on and round_one:
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(edge)
        painter.drawEllipse(box.center(), side * 0.26, side * 0.26)
    elif on:
        pen = QPen(edge, max(side * 0.16, 1.6))
        pen.setCapStyle(Qt.PenCapStyle.RoundCap)
        pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
        painter.setPen(pen)
        painter.drawPolyline([_at(box, 0.22, 0.52), _at(box, 0.42, 0.72), _at(box, 0.78, 0.28)])
    painter.restore()


def _at(box: QRectF, x: float, y: float) -> QPointF:
    return QPointF(box.x() + box.width() * x, box.y() + box.height() * y)
