"""One budget as a filled band: words and number above, below how much of it is used.

A post stands where the limit is; two, with a hatched stretch between them, where only its bracket is known. What is
overdrawn runs past the post and ends torn. What nobody knows is hatched, and without a limit there is no post. A notch
tells where the fill stood before something was tried.
"""

from functools import lru_cache

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QFont, QFontMetricsF, QPainter, QPainterPath, QPen

from wizard.budget.entry import Entry
from wizard.desktop import theme
from wizard.desktop.strip_bands import Band, band
from wizard.desktop.strip_words import numbers_on_band, short, state_on_band
from wizard.report.clean import one_line

THICK = 0.5
"""Height of the band in lines."""


def paint_band(
    painter: QPainter, area: QRectF, entry: Entry, before: Entry | None, font: QFont, em: float, words: bool
) -> None:
    """Paint a budget into an area; without `words` the band alone."""
    shown = band(entry, before)
    if words:
        _paint_words(painter, area, entry, font)
    trough = QRectF(area.left(), area.bottom() - em * (THICK + 0.05), area.width(), em * THICK)
    paint_fill(painter, trough, shown, em)


def _paint_words(painter: QPainter, area: QRectF, entry: Entry, font: QFont) -> None:
    colours = theme.colours()
    state = state_on_band(entry)
    loud = theme.sized(font, theme.SMALL, bold=entry.state != "room")
    told = QFontMetricsF(loud).horizontalAdvance(state) + 2
    line = QRectF(area.left(), area.top(), area.width() - told - 6, area.height() * 0.64)
    painter.setFont(font)
    painter.setPen(QColor(colours.text))
    both = elided(f"{short(entry.budget)}: {numbers_on_band(entry)}", font.toString(), line.width())
    painter.drawText(line, int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter), both)
    painter.setFont(loud)
    painter.setPen(colours.of_state(entry.state))
    side = QRectF(area.right() - told, area.top(), told, line.height())
    painter.drawText(side, int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter), state)


def paint_fill(painter: QPainter, trough: QRectF, shown: Band, em: float) -> None:
    """The band itself."""
    colours = theme.colours()
    colour = colours.of_state(shown.entry.state)
    if shown.limit is None:
        _unknown(painter, trough, colour)
        return
    post = trough.left() + trough.width() * shown.limit
    inside = QRectF(trough.left(), trough.top(), post - trough.left(), trough.height())
    if shown.fill is None:
        _unknown(painter, inside, colour)
    else:
        painter.setPen(QPen(QColor(colours.line), 1.0))
        painter.setBrush(QColor(colours.page))
        painter.drawRect(inside)
        if shown.low is not None:
            low = trough.left() + trough.width() * shown.low
            _unknown(painter, QRectF(low, trough.top(), post - low, trough.height()), QColor(colours.unknown))
            _post(painter, trough, low, em)
        _fill(painter, trough, shown.fill, post, em, colour, shown.entry.state == "over")
    _post(painter, trough, post, em)
    if shown.before is not None:
        _notch(painter, trough, trough.left() + trough.width() * shown.before, em)


def _unknown(painter: QPainter, area: QRectF, colour: QColor) -> None:
    painter.setPen(QPen(colour, 1.0, Qt.PenStyle.DashLine))
    painter.setBrush(hatch(colour.name()))
    painter.drawRect(area)


def _fill(painter: QPainter, trough: QRectF, share: float, post: float, em: float, colour: QColor, torn: bool) -> None:
    end = trough.left() + trough.width() * share
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(colour)
    if torn:
        painter.drawPath(_torn(trough, max(end, post + em * 0.5)))
    elif share > 0:
        painter.drawRect(QRectF(trough.left(), trough.top(), max(end - trough.left(), 1.5), trough.height()))


def _post(painter: QPainter, trough: QRectF, at: float, em: float) -> None:
    painter.setPen(QPen(QColor(theme.colours().text), 1.6))
    painter.drawLine(QPointF(at, trough.top() - em * 0.12), QPointF(at, trough.bottom() + em * 0.12))


def _notch(painter: QPainter, trough: QRectF, x: float, em: float) -> None:
    """Where the fill stood before."""
    mark = QPainterPath(QPointF(x, trough.center().y()))
    mark.lineTo(x - em * 0.22, trough.top() - em * 0.18)
    mark.lineTo(x + em * 0.22, trough.top() - em * 0.18)
    mark.closeSubpath()
    painter.setPen(QPen(QColor(theme.colours().card), 1.0))
    painter.setBrush(QColor(theme.colours().text))
    painter.drawPath(mark)


def _torn(trough: QRectF, end: float) -> QPainterPath:
    """A fill whose end is torn."""
    path = QPainterPath(trough.topLeft())
    tooth = trough.height() / 2
    path.lineTo(end, trough.top())
    path.lineTo(end - tooth, trough.top() + trough.height() * 0.25)
    path.lineTo(end, trough.center().y())
    path.lineTo(end - tooth, trough.top() + trough.height() * 0.75)
    path.lineTo(end, trough.bottom())
    path.lineTo(trough.left(), trough.bottom())
    path.closeSubpath()
    return path


def torn_edge(area: QRectF, em: float) -> QPainterPath:
    """A sheet whose left edge is torn: something on it is overdrawn."""
    teeth = max(3, round(area.height() / (em * 0.55)))
    step = area.height() / teeth
    deep = em * 0.24
    path = QPainterPath(area.topRight())
    path.lineTo(area.bottomRight())
    path.lineTo(area.bottomLeft())
    for tooth in range(teeth, 0, -1):
        y = area.top() + tooth * step
        path.lineTo(area.left() + deep, y - step / 2)
        path.lineTo(area.left(), y - step)
    path.closeSubpath()
    return path


@lru_cache(maxsize=16)
def hatch(colour: str) -> QBrush:
    """Slanted lines: nobody knows."""
    return QBrush(QColor(colour), Qt.BrushStyle.BDiagPattern)


@lru_cache(maxsize=8192)
def elided(text: str, font: str, width: float) -> str:
    """Foreign text on one line, its end left out where it does not fit. `font` is a font written as text."""
    drawn = QFont()
    drawn.fromString(font)
    return QFontMetricsF(drawn).elidedText(one_line(text), Qt.TextElideMode.ElideRight, max(width, 0.0))
