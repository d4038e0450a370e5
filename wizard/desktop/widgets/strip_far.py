"""The strips from far away: names in large type, thick bands, plugs as bars. For zooms at which no tag can be read.

What is overdrawn keeps its torn edge, what is unknown its hatching: the shapes stay when the words go.
"""

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor, QFont, QPainter, QPen

from wizard.budget.entry import Entry, State
from wizard.desktop import theme
from wizard.desktop.strip_bands import band, shown_on_strip
from wizard.desktop.widgets.strip_band import elided, hatch, paint_fill, torn_edge

FAR = 0.34
"""Zoom below which strips are drawn so: common practice (no source)."""


def paint_far_plate(
    painter: QPainter, area: QRectF, name: str, entries: tuple[Entry, ...], state: State | None, em: float, font: QFont
) -> None:
    """A plate with its name in large type and its bands as thick as they can be."""
    colours = theme.colours()
    painter.setPen(QPen(QColor(colours.over if state == "over" else colours.quiet), 4.0 if state == "over" else 2.0))
    painter.setBrush(QColor(colours.card))
    painter.drawPath(torn_edge(area, em * 2)) if state == "over" else painter.drawRect(area)
    large = QFont(font)
    large.setPixelSize(max(1, round(em * 2.0)))
    large.setBold(True)
    painter.setFont(large)
    painter.setPen(QColor(colours.text))
    head = QRectF(area.left() + em * 0.7, area.top() + em * 0.1, area.width() - em, em * 2.6)
    told = elided(name, large.toString(), head.width())
    painter.drawText(head, int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter), told)
    shown = shown_on_strip(entries)
    if shown:
        step = (area.height() - em * 2.9) / len(shown)
        for number, entry in enumerate(shown):
            trough = QRectF(area.left() + em * 0.8, head.bottom() + number * step, area.width() - em * 1.5, step * 0.75)
            paint_fill(painter, trough, band(entry), em)


def paint_far_plug(painter: QPainter, area: QRectF, state: State | None, wanted: bool) -> None:
    """A plug as a bar in the colour of its state; `wanted` ones (found, ticked, moved) stand out."""
    colours = theme.colours()
    quiet = state in (None, "room")
    colour = QColor(colours.accent if wanted else colours.line if quiet else colours.of_state(state or "unknown"))
    if state == "unknown" and not wanted:
        painter.fillRect(area, hatch(colour.name()))
        return
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(colour)
    painter.drawPath(torn_edge(area, area.height())) if state == "over" else painter.drawRect(area)
