"""Paints the strips: plates with their budgets, sockets, plugs, tags and cords. Knows no mouse and no keys.

A state is never told by its colour alone: what is overdrawn has a torn edge and the word, what is unknown is hatched
and says so. Only what lies in the part of the picture to be drawn is drawn.
"""

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QPainter, QPainterPath, QPen

from wizard.budget.entry import State
from wizard.desktop import theme
from wizard.desktop.strip_bands import shown_on_strip, worst
from wizard.desktop.strip_layout import BAND, BODY, HEAD, Box, Cord, Row
from wizard.desktop.strip_words import free_words, hidden_words, tag_line
from wizard.desktop.strips import Hole, Strip
from wizard.desktop.widgets.gauge import draw_vessel
from wizard.desktop.widgets.strip_band import elided, hatch, paint_band, torn_edge
from wizard.desktop.widgets.strip_far import FAR, paint_far_plate, paint_far_plug
from wizard.desktop.widgets.strip_glyphs import draw_glyph
from wizard.desktop.widgets.strip_view import HANDLE, TICK, Spot, View

LEGIBLE = 0.5
"""Zoom below which small print is left out: common practice (no source)."""


class StripPainter:
    """Paints one view with one painter. `em` is a line of text in pixels, `zoom` the scale already set."""

    def __init__(self, painter: QPainter, view: View, font: QFont, em: float, zoom: float) -> None:
        self.p, self.view, self.em, self.zoom = painter, view, em, zoom
        self.colours = theme.colours()
        self.plain = font
        self.small = theme.sized(font, theme.SMALL)
        self.bold = theme.sized(font, 1.0, bold=True)
        self.reads = zoom >= LEGIBLE
        self.far = zoom < FAR
        self._doubted = False

    def paint(self, clip: QRectF) -> None:
        """Paint what lies in a rectangle (in pixels before zoom)."""
        em = self.em
        for cord in self.view.layout.cords:
            if _span(cord, em).intersects(clip):
                self._cord(cord)
        for box in self.view.layout.boxes.values():
            area = QRectF(box.left * em, box.top * em, (box.right - box.left) * em, (box.bottom - box.top) * em)
            if area.adjusted(-em, -em, em, em).intersects(clip):
                self._strip(box, clip)

    # ---- cords

    def _cord(self, cord: Cord) -> None:
        em = self.em
        start, end = QPointF(*cord.start) * em, QPointF(*cord.end) * em
        moved = cord.plug in self.view.moved
        colour = QColor(self.colours.accent if moved else self.colours.quiet)
        if self.view.is_dim((cord.plug,)):
            colour.setAlpha(70)
        path = QPainterPath(start)
        reach = max((end.x() - start.x()) * 0.55, em)
        path.cubicTo(start + QPointF(reach, em * 0.5), end - QPointF(reach, -em * 0.5), end)
        pen = QPen(colour, em * 0.24)
        pen.setCapStyle(Qt.PenCapStyle.RoundCap)
        if moved:
            pen.setDashPattern([2.4, 1.6])
        self.p.setPen(pen)
        self.p.setBrush(Qt.BrushStyle.NoBrush)
        self.p.drawPath(path)

    # ---- strips

    def _strip(self, box: Box, clip: QRectF) -> None:
        strip = self.view.picture.strips[box.key]
        dim = self.view.is_dim((strip.key, *(h.plug.key for h in strip.holes if h.plug is not None)))
        self.p.setOpacity(0.35 if dim else 1.0)
        if box.rows:
            self._body(box)
        self._plate(box, strip)
        self._doubted = False
        for row, hole in zip(box.rows, strip.holes, strict=False):
            if row.top * self.em <= clip.bottom() and (row.top + row.height) * self.em >= clip.top():
                self._row(box, row, hole)
            self._doubted = hole.plug is None and hole.hold == "doubtful"
        if box.hidden is not None and self.reads:
            area = self._rect(box.left, box.top + box.plate, box.right - box.left, 1.4)
            self._text(area.adjusted(self.em * 0.6, 0, 0, 0), hidden_words(box.hidden), self.small, self.colours.quiet)
        self.p.setOpacity(1.0)

    def _body(self, box: Box) -> None:
        top = box.top + box.plate - 0.5
        area = self._rect(box.left + 0.3, top, BODY - 0.3, box.bottom - top)
        self.p.setPen(QPen(QColor(self.colours.quiet), 1.0))
        self.p.setBrush(QColor(self.colours.rail))
        self.p.drawRoundedRect(area, self.em * 0.5, self.em * 0.5)

    def _plate(self, box: Box, strip: Strip) -> None:
        em, view = self.em, self.view
        entries = view.bands.at(strip.key, strip=True)
        state = worst(entries)
        area = self._rect(box.left, box.top, box.right - box.left, box.plate)
        spot = Spot("strip", strip.key)
        if self.far:
            paint_far_plate(self.p, area, strip.name, entries, state, em, self.plain)
            if spot == view.current:
                self._ring(area, spot)
            return
        self._sheet(area, state, spot, heavy=strip.kind == "pc")
        left = area.left() + em * 0.6
        wide = area.width() - em * 1.0
        name = QRectF(left, area.top() + em * 0.2, wide - em * HANDLE, em * 1.2)
        self._text(name, strip.name, self.bold, self.colours.text)
        if self.reads:
            small = QRectF(left, area.top() + em * 1.32, wide, em * 1.1)
            self._text(small, strip.words, self.small, self.colours.quiet)
            if strip.holes:
                handle = QRectF(area.right() - em * HANDLE, area.top() + em * 0.2, em * (HANDLE - 0.5), em * 1.2)
                words = "unfold" if strip.key in view.folded else "fold"
                under = view.hover is not None and view.hover.part == "fold" and view.hover.key == strip.key
                font = theme.sized(self.small, theme.SMALL)
                font.setUnderline(under)
                self._text(handle, words, font, self.colours.accent, Qt.AlignmentFlag.AlignRight)
        self._bands(box, strip)

    def _bands(self, box: Box, strip: Strip) -> None:
        view = self.view
        before = {}
        if view.before is not None:
            before = {(e.budget, e.where): e for e in view.before.at(strip.key, strip=True)}
            before |= {(e.budget, ""): e for e in view.before.at(strip.key, strip=True)}
        room = round((box.plate - HEAD) / BAND)  # the plate keeps its size while something is only tried
        for number, entry in enumerate(shown_on_strip(view.bands.at(strip.key, strip=True))[:room]):
            area = self._rect(
                box.left + 0.6, box.top + HEAD + number * BAND - 0.1, box.right - box.left - 1.1, BAND - 0.15
            )
            was = before.get((entry.budget, entry.where)) or before.get((entry.budget, ""))
            paint_band(self.p, area, entry, was, self.small, self.em, self.reads)

    # ---- sockets

    def _row(self, box: Box, row: Row, hole: Hole) -> None:
        if self.far:
            self._far_row(box, row, hole)
            return
        whole = self.p.opacity()
        if hole.plug is not None and self.view.is_dim((hole.plug.key,)):
            self.p.setOpacity(0.35)  # the number goes with what is plugged in there
        self._socket(box, row, hole)
        if hole.plug is None:
            if self.reads and not (self._doubted and hole.hold == "doubtful"):
                area = self._rect(box.left + BODY + 0.4, row.top, 14, row.height)
                self._text(area, free_words(hole), self.small, self.colours.quiet)
        else:
            self._plug(box, row, hole)
        self.p.setOpacity(whole)
        spot = Spot("hole", hole.key)
        target = self.view.target == hole.key
        if target:
            self._target(box, row)
        elif hole.plug is None and spot in (self.view.current, self.view.chosen):
            self._ring(self._rect(box.left + 0.1, row.top + 0.05, BODY + 7.2, row.height - 0.1), spot)

    def _far_row(self, box: Box, row: Row, hole: Hole) -> None:
        view, plug = self.view, hole.plug
        area = self._rect(box.left + BODY, row.top + 0.25, box.right - box.left - BODY, row.height - 0.5)
        if plug is not None:
            self.p.setOpacity(0.35 if view.is_dim((plug.key,)) else 1.0)
            wanted = plug.key in view.ticks or plug.key in view.moved or plug.key in (view.found or ())
            paint_far_plug(self.p, area, worst(view.bands.at(hole.key, strip=False)), wanted)
            self.p.setOpacity(1.0)
        if view.current == Spot("hole", hole.key):
            self._ring(area, view.current)
        if view.target == hole.key:
            self._target(box, row)

    def _socket(self, box: Box, row: Row, hole: Hole) -> None:
        """Its number, and the opening where no plug is in front of it."""
        em = self.em
        middle = row.middle * em
        if hole.plug is None or self.view.held == hole.plug.key:
            self._opening(box, row, hole)
        if self.reads:
            font = theme.sized(self.small, 0.8)
            number = QRectF((box.left + 0.3) * em, middle - em * 0.6, em * 1.0, em * 1.2)
            self._text(number, hole.label, font, self.colours.quiet, Qt.AlignmentFlag.AlignRight)

    def _opening(self, box: Box, row: Row, hole: Hole) -> None:
        """The opening; two tongues where it has the fast wires too."""
        em = self.em
        middle = row.middle * em
        high = min(0.68, row.height * 0.74)
        opening = QRectF((box.left + 1.55) * em, middle - em * high / 2, em * 1.25, em * high)
        pen = QPen(QColor(self.colours.quiet), 1.2)
        if hole.hold == "doubtful":
            pen.setDashPattern([2, 2])
        self.p.setPen(pen)
        self.p.setBrush(QColor(self.colours.page))
        self.p.drawRoundedRect(opening, em * 0.1, em * 0.1)
        if hole.hold == "built_in":
            self.p.drawLine(opening.topLeft(), opening.bottomRight())
        tongues = (0.36, 0.64) if hole.fast else (0.5,)
        self.p.setPen(QPen(QColor(self.colours.quiet), 1.6))
        for share in tongues:
            y = opening.top() + opening.height() * share
            self.p.drawLine(QPointF(opening.left() + em * 0.25, y), QPointF(opening.right() - em * 0.25, y))

    def _plug(self, box: Box, row: Row, hole: Hole) -> None:
        em, view, plug = self.em, self.view, hole.plug
        assert plug is not None
        lifted = view.held == plug.key
        dim = view.is_dim((plug.key,))
        self.p.setOpacity(0.35 if dim or lifted else 1.0)
        middle = row.middle * em
        edge = QColor(self.colours.accent if plug.key in view.moved else self.colours.quiet)
        self.p.setPen(QPen(edge, 1.2))
        self.p.setBrush(edge if not lifted else Qt.BrushStyle.NoBrush)
        self.p.drawPath(self._plug_shape(box.left * em, middle))
        self.p.setPen(QPen(edge, em * 0.2))
        self.p.drawLine(QPointF((box.left + 3.55) * em, middle), QPointF((box.left + 4.1) * em, middle))
        self._tag(box, row, hole)

    def _plug_shape(self, left: float, middle: float) -> QPainterPath:
        """The head over its opening, and the grip that narrows to the lead."""
        em = self.em
        path = QPainterPath()
        path.addRoundedRect(QRectF(left + em * 1.47, middle - em * 0.52, em * 1.5, em * 1.04), em * 0.2, em * 0.2)
        grip = QPainterPath(QPointF(left + em * 2.97, middle - em * 0.36))
        grip.lineTo(left + em * 3.6, middle - em * 0.14)
        grip.lineTo(left + em * 3.6, middle + em * 0.14)
        grip.lineTo(left + em * 2.97, middle + em * 0.36)
        grip.closeSubpath()
        path.addPath(grip)
        return path

    def _tag(self, box: Box, row: Row, hole: Hole) -> None:
        em, view, plug = self.em, self.view, hole.plug
        assert plug is not None
        entries = view.bands.at(hole.key, strip=False)
        words, state = tag_line(hole, entries)
        area = self._rect(box.left + 4.0, row.top + 0.1, box.right - box.left - 4.0, row.height - 0.2)
        self._sheet(area, state if state in ("over", "unknown") else None, Spot("hole", hole.key))
        draw_glyph(
            self.p,
            QRectF(area.left() + em * 0.55, row.middle * em - em * 0.62, em * 1.24, em * 1.24),
            plug.figure,
            QColor(self.colours.text),
        )
        right = area.right() - em * (TICK if view.ticking else 0.3)
        left = area.left() + em * 2.1
        if not self.reads:
            self._text(QRectF(left, area.top(), right - left, area.height()), plug.name, self.plain, self.colours.text)
            return
        if state in ("over", "tight", "unknown"):
            side = em * 0.95
            draw_vessel(self.p, QRectF(left, area.top() + em * 1.0, side, side), state, self.colours.of_state(state))
        indent = em * 1.05 if state in ("over", "tight", "unknown") else 0.0
        self._text(QRectF(left, area.top(), right - left, em * 1.1), plug.name, self.plain, self.colours.text)
        colour = self.colours.quiet if indent == 0.0 or state is None else self.colours.of_state(state).name()
        line = QRectF(left + indent, area.top() + em * 0.95, right - left - indent, em * 1.05)
        self._text(line, words, self.small, colour)
        if view.ticking:
            self._tick(area, plug.key, hole.key)

    def _tick(self, area: QRectF, plug: str, hole: str) -> None:
        em = self.em
        side = em * 0.9
        box = QRectF(area.right() - em * (TICK + 0.9) / 2 + em * 0.05, area.center().y() - side / 2, side, side)
        on = plug in self.view.ticks
        under = self.view.hover is not None and self.view.hover == Spot("tick", hole)
        self.p.setPen(QPen(QColor(self.colours.accent if on or under else self.colours.quiet), 1.6 if under else 1.3))
        self.p.setBrush(QColor(self.colours.card))
        self.p.drawRoundedRect(box, 2, 2)
        if on:
            self.p.setPen(QPen(QColor(self.colours.accent), em * 0.14))
            points = [
                QPointF(box.left() + side * x, box.top() + side * y)
                for x, y in ((0.2, 0.55), (0.42, 0.76), (0.8, 0.24))
            ]
            self.p.drawPolyline(points)

    def _target(self, box: Box, row: Row) -> None:
        """Where a plug that is held would go."""
        em = self.em
        colour = QColor(self.colours.over if self.view.refused else self.colours.accent)
        area = self._rect(box.left + 0.1, row.top + 0.05, box.right - box.left - 0.1, row.height - 0.1)
        pen = QPen(colour, 2.2)
        pen.setDashPattern([3, 2])
        self.p.setPen(pen)
        self.p.setBrush(Qt.BrushStyle.NoBrush)
        self.p.drawRoundedRect(area, 4, 4)
        plug = self.view.picture.plug(self.view.held or "")
        if plug is not None and self.view.picture.holes[row.key].plug is None:
            ground = QRectF(
                (box.left + BODY + 0.3) * em,
                area.top() + 1,
                area.right() - (box.left + BODY + 0.5) * em,
                area.height() - 2,
            )
            self.p.fillRect(ground, QColor(self.colours.page))
            words = "not here" if self.view.refused else "here?"
            self._text(ground, f"{plug.name} – {words}", self.bold, colour.name())

    # ---- sheets, rings, text

    def _sheet(self, area: QRectF, state: State | None, spot: Spot, heavy: bool = False) -> None:
        view = self.view
        hover = view.hover is not None and view.hover.place == spot
        ground = QColor(self.colours.chosen if spot == view.chosen else self.colours.card)
        colour = QColor(self.colours.over if state == "over" else self.colours.accent if hover else self.colours.line)
        self.p.setPen(QPen(colour, 2.0 if state == "over" or heavy else 1.2))
        self.p.setBrush(ground)
        if state == "over":
            self.p.drawPath(torn_edge(area, self.em))
        else:
            self.p.drawRoundedRect(area, self.em * 0.25, self.em * 0.25)
        if state == "unknown":
            strip = QRectF(area.left() + 1, area.top() + 2, self.em * 0.32, area.height() - 4)
            self.p.fillRect(strip, hatch(self.colours.unknown))
        if spot == view.current:
            self._ring(area, spot)

    def _ring(self, area: QRectF, spot: Spot) -> None:
        if spot == self.view.chosen and spot != self.view.current:
            return
        self.p.setPen(QPen(QColor(self.colours.text), 2.0, Qt.PenStyle.SolidLine))
        self.p.setBrush(Qt.BrushStyle.NoBrush)
        grow = self.em * 0.12
        self.p.drawRoundedRect(area.adjusted(-grow, -grow, grow, grow), self.em * 0.3, self.em * 0.3)

    def _text(
        self,
        area: QRectF,
        text: str,
        font: QFont,
        colour: str,
        align: Qt.AlignmentFlag = Qt.AlignmentFlag.AlignLeft,
    ) -> None:
        self.p.setFont(font)
        self.p.setPen(QColor(colour))
        self.p.drawText(area, int(align | Qt.AlignmentFlag.AlignVCenter), elided(text, font.toString(), area.width()))

    def _rect(self, left: float, top: float, width: float, height: float) -> QRectF:
        return QRectF(left * self.em, top * self.em, width * self.em, height * self.em)


def _span(cord: Cord, em: float) -> QRectF:
    return QRectF(QPointF(*cord.start) * em, QPointF(*cord.end) * em).normalized().adjusted(-em, -em, em, em)
