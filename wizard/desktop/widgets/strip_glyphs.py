"""The figures on the tags: what kind of thing a plug belongs to, drawn with a few lines in a square of 24 units.

All of them are our own drawings of the thing itself; a word for each stands in `strip_figures`.
"""

from collections.abc import Callable
from functools import lru_cache

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPainterPath, QPen

from wizard.desktop.strip_figures import Figure

UNITS = 24.0


def draw_glyph(painter: QPainter, box: QRectF, figure: Figure, colour: QColor) -> None:
    """Draw a figure into a square."""
    scale = box.width() / UNITS
    painter.save()
    painter.translate(box.topLeft())
    painter.scale(scale, scale)
    pen = QPen(colour, 1.8)
    pen.setCapStyle(Qt.PenCapStyle.RoundCap)
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    if figure == "unread":
        pen.setDashPattern([1.2, 1.8])
    painter.setPen(pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawPath(glyph(figure))
    painter.restore()


@lru_cache(maxsize=32)
def glyph(figure: Figure) -> QPainterPath:
    """The lines of a figure."""
    path = QPainterPath()
    _DRAWN[figure](path)
    return path


def _line(path: QPainterPath, *points: tuple[float, float]) -> None:
    path.moveTo(*points[0])
    for point in points[1:]:
        path.lineTo(*point)


def _box(path: QPainterPath, x: float, y: float, w: float, h: float, round_by: float = 2.0) -> None:
    path.addRoundedRect(QRectF(x, y, w, h), round_by, round_by)


def _ring(path: QPainterPath, x: float, y: float, radius: float) -> None:
    path.addEllipse(QPointF(x, y), radius, radius)


def _hub(path: QPainterPath) -> None:
    _box(path, 7, 2, 10, 20)
    for y in (6.5, 12.0, 17.5):
        _line(path, (10, y), (14, y))


def _keys(path: QPainterPath) -> None:
    _box(path, 2, 6, 20, 12)
    for x in (6.0, 10.0, 14.0, 18.0):
        _line(path, (x, 10), (x + 0.1, 10))
    _line(path, (7, 14.2), (17, 14.2))


def _pointer(path: QPainterPath) -> None:
    _box(path, 6.5, 3, 11, 18, 5.5)
    _line(path, (12, 6.5), (12, 10))


def _control(path: QPainterPath) -> None:
    """A knob on its scale."""
    _ring(path, 12, 13.5, 6)
    _line(path, (12, 13.5), (15.4, 9.6))
    path.moveTo(3.6, 17.5)
    path.arcTo(QRectF(2.2, 3.2, 19.6, 20.4), 205, -230)


def _sound(path: QPainterPath) -> None:
    """A wave that swells and dies away."""
    for x, half in ((3.5, 1.5), (7.75, 5.0), (12.0, 9.0), (16.25, 5.0), (20.5, 1.5)):
        _line(path, (x, 12 - half), (x, 12 + half))


def _picture(path: QPainterPath) -> None:
    """A lens on a stand."""
    _ring(path, 12, 9.5, 7)
    _ring(path, 12, 9.5, 2.6)
    _line(path, (12, 16.5), (12, 20.5))
    _line(path, (7, 21), (17, 21))


def _drive(path: QPainterPath) -> None:
    """A stack of platters."""
    path.addEllipse(QRectF(4, 3, 16, 5.5))
    for y in (5.75, 11.25, 16.75):
        path.moveTo(4, y)
        path.cubicTo(4, y + 4.6, 20, y + 4.6, 20, y)
    _line(path, (4, 5.75), (4, 16.75))
    _line(path, (20, 5.75), (20, 16.75))


def _printer(path: QPainterPath) -> None:
    _box(path, 3, 9, 18, 8)
    _line(path, (7, 9), (7, 3), (17, 3), (17, 9))
    _line(path, (7, 14), (7, 21), (17, 21), (17, 14))


def _serial(path: QPainterPath) -> None:
    """Bits on a wire."""
    _line(path, (2, 16), (5, 16), (5, 8), (9, 8), (9, 16), (13, 16), (13, 8), (15.5, 8), (15.5, 16), (19, 16))
    _line(path, (19, 16), (22, 16))


def _token(path: QPainterPath) -> None:
    _box(path, 2.5, 5, 19, 14)
    _box(path, 6, 9, 5, 5, 1)
    _line(path, (14.5, 15), (18, 15))


def _radio(path: QPainterPath) -> None:
    """A mast with waves."""
    _line(path, (12, 10), (12, 21))
    _line(path, (8.5, 21), (15.5, 21))
    for reach in (4.5, 8.5):
        path.moveTo(12 - reach * 0.77, 10 - reach * 0.64)
        path.arcTo(QRectF(12 - reach, 10 - reach, 2 * reach, 2 * reach), 140, 80)
        path.moveTo(12 + reach * 0.77, 10 + reach * 0.64)
        path.arcTo(QRectF(12 - reach, 10 - reach, 2 * reach, 2 * reach), -40, 80)


def _own(path: QPainterPath) -> None:
    """A box with a lead: it says nothing of what is inside."""
    _box(path, 4, 3, 16, 11)
    path.moveTo(12, 14)
    path.cubicTo(12, 19, 17, 17, 17, 21.5)


def _unread(path: QPainterPath) -> None:
    _box(path, 3.5, 3.5, 17, 17, 4)


_DRAWN: dict[Figure, Callable[[QPainterPath], None]] = {
    "hub": _hub,
    "keys": _keys,
    "pointer": _pointer,
    "control": _control,
    "sound": _sound,
    "picture": _picture,
    "drive": _drive,
    "printer": _printer,
    "line": _serial,
    "token": _token,
    "radio": _radio,
    "own": _own,
    "unread": _unread,
}
