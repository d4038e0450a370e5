"""The canvas of the strips: scrolls, zooms, and turns pointer and keys into what the user meant.

It draws a view and says what was done to it; what follows from that is the map's to decide.
"""

from PySide6.QtCore import QEvent, QPoint, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QContextMenuEvent,
    QFocusEvent,
    QHelpEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QAbstractScrollArea, QApplication, QFrame, QToolTip, QWidget

from wizard.desktop import theme
from wizard.desktop.widgets.strip_band import elided
from wizard.desktop.widgets.strip_glyphs import draw_glyph
from wizard.desktop.widgets.strip_keys import KEYS, next_spot
from wizard.desktop.widgets.strip_paint import StripPainter
from wizard.desktop.widgets.strip_panels import not_real_pen
from wizard.desktop.widgets.strip_view import Spot, View
from wizard.desktop.widgets.text import harmless

LEAST, MOST = 0.08, 2.5
"""Zoom: from an overview of a thousand devices to twice the size of the user's own text."""
NOTCH = 1.2
"""One step of zoom."""


class StripCanvas(QAbstractScrollArea):
    """Draws `view`. After a change of it `view_changed` must be called."""

    went = Signal(object)  # the keyboard, or a click, went to a spot
    pointed = Signal(object)  # the pointer is over a spot, or None
    pressed = Signal(object)  # a spot was clicked, or Enter pressed on it
    lifted = Signal(str, str)  # a plug was picked up: its key, and the key of its socket
    carried = Signal(object)  # a held plug is over a socket (its key) or over none
    dropped = Signal()
    put_back = Signal()
    zoomed = Signal(float)
    resized = Signal()
    fit_wanted = Signal()
    search_wanted = Signal()
    tick_wanted = Signal(str)

    def __init__(self, view: View, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.view = view
        self.zoom = 1.0
        self.movable = False
        self._press: tuple[QPoint, Spot] | None = None
        self._pan: QPoint | None = None
        self._dragged: QPointF | None = None
        self.setFrameShape(QFrame.Shape.StyledPanel)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.viewport().setMouseTracking(True)
        self.viewport().setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.viewport().setAutoFillBackground(False)

    # ---- sizes

    @property
    def em(self) -> float:
        """A line of text in pixels, before zoom."""
        return theme.em(self)

    def width_in_lines(self) -> float:
        """How wide the visible part is, in lines of text at this zoom."""
        return self.viewport().width() / (self.em * self.zoom)

    def sizeHint(self) -> QSize:
        """Room for two strips beside each other."""
        return QSize(theme.px(40), theme.px(22))

    def view_changed(self) -> None:
        """The view is another: fit the scroll bars, draw anew."""
        scale = self.em * self.zoom
        whole = QSize(round(self.view.layout.width * scale), round(self.view.layout.height * scale))
        seen = self.viewport().size()
        for bar, total, page in (
            (self.horizontalScrollBar(), whole.width(), seen.width()),
            (self.verticalScrollBar(), whole.height(), seen.height()),
        ):
            bar.setPageStep(page)
            bar.setSingleStep(round(2 * self.em))
            bar.setRange(0, max(0, total - page))
        self.viewport().update()

    def set_zoom(self, zoom: float, about: QPointF | None = None) -> None:
        """Another zoom; the point `about` (of the visible part) stays where it is."""
        new = min(max(zoom, LEAST), MOST)
        fixed = about or QPointF(self.viewport().rect().center())
        x, y = self._in_lines(fixed)
        self.zoom = new
        self.view_changed()
        scale = self.em * new
        self.horizontalScrollBar().setValue(round(x * scale - fixed.x()))
        self.verticalScrollBar().setValue(round(y * scale - fixed.y()))
        self.zoomed.emit(new)

    def show_spot(self, spot: Spot, centred: bool = False) -> None:
        """Scroll until a spot is seen."""
        rect = self.view.rect(spot)
        if rect is None:
            return
        scale = self.em * self.zoom
        left, top, width, height = (v * scale for v in rect)
        margin = 1.5 * self.em
        for bar, start, long, page in (
            (self.horizontalScrollBar(), left, width, self.viewport().width()),
            (self.verticalScrollBar(), top, height, self.viewport().height()),
        ):
            if centred:
                bar.setValue(round(start + long / 2 - page / 2))
            elif start - margin < bar.value():
                bar.setValue(round(start - margin))
            elif start + long + margin > bar.value() + page:
                bar.setValue(round(start + long + margin - page))

    def area_of(self, spot: Spot) -> QRectF | None:
        """Where a spot is on the visible part, in pixels."""
        rect = self.view.rect(spot)
        if rect is None:
            return None
        scale = self.em * self.zoom
        left, top, width, height = (v * scale for v in rect)
        return QRectF(left - self.horizontalScrollBar().value(), top - self.verticalScrollBar().value(), width, height)

    def _in_lines(self, at: QPointF) -> tuple[float, float]:
        scale = self.em * self.zoom
        return (at.x() + self.horizontalScrollBar().value()) / scale, (
            at.y() + self.verticalScrollBar().value()
        ) / scale

    def spot_at(self, at: QPointF) -> Spot | None:
        """What stands at a point of the visible part."""
        return self.view.spot_at(*self._in_lines(at))

    # ---- drawing

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the part that is seen."""
        painter = QPainter(self.viewport())
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.viewport().rect(), QColor(theme.colours().page))
        x, y = self.horizontalScrollBar().value(), self.verticalScrollBar().value()
        painter.translate(-x, -y)
        painter.scale(self.zoom, self.zoom)
        seen = QRectF(self.viewport().rect()).translated(x, y)
        clip = QRectF(seen.topLeft() / self.zoom, seen.size() / self.zoom)
        StripPainter(painter, self.view, self.font(), self.em, self.zoom).paint(clip)
        if not self.view.layout.boxes:
            painter.resetTransform()
            painter.setPen(QColor(theme.colours().quiet))
            nothing = self.tr("There are no controllers and no sockets to draw.")
            painter.drawText(self.viewport().rect(), int(Qt.AlignmentFlag.AlignCenter), nothing)
        if self.view.what_if:
            self._mark_what_if(painter)
        if self._dragged is not None:
            self._draw_dragged(painter, self._dragged)

    def _mark_what_if(self, painter: QPainter) -> None:
        """Nobody shall take what is only tried for what is."""
        painter.resetTransform()
        painter.setPen(not_real_pen())
        painter.setBrush(Qt.BrushStyle.NoBrush)
        area = QRectF(self.viewport().rect()).adjusted(2, 2, -2, -2)
        painter.drawRect(area)
        words = self.tr("What if")
        painter.setFont(theme.sized(self.font(), theme.SMALL, bold=True))
        told = painter.fontMetrics().horizontalAdvance(words) + self.em
        label = QRectF(area.right() - told, area.top(), told, self.em * 1.4)
        painter.fillRect(label, QColor(theme.colours().accent))
        painter.setPen(QColor(theme.colours().on_accent))
        painter.drawText(label, int(Qt.AlignmentFlag.AlignCenter), words)

    def _draw_dragged(self, painter: QPainter, at: QPointF) -> None:
        """The plug that is held, beside the pointer."""
        plug = self.view.picture.plug(self.view.held or "")
        if plug is None:
            return
        em, colours = self.em, theme.colours()
        painter.resetTransform()
        area = QRectF(at.x() + em, at.y() + em * 0.6, em * 13, em * 1.7)
        painter.setPen(not_real_pen())
        painter.setBrush(QColor(colours.card))
        painter.drawRoundedRect(area, em * 0.25, em * 0.25)
        glyph = QRectF(area.left() + em * 0.4, area.top() + em * 0.3, em * 1.1, em * 1.1)
        draw_glyph(painter, glyph, plug.figure, QColor(colours.text))
        painter.setFont(self.font())
        painter.setPen(QColor(colours.text))
        name = elided(plug.name, self.font().toString(), area.width() - em * 2.2)
        told = area.adjusted(em * 1.8, 0, 0, 0)
        painter.drawText(told, int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter), name)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """The picture may be laid out anew."""
        super().resizeEvent(event)
        self.view_changed()
        self.resized.emit()

    def changeEvent(self, event: QEvent) -> None:
        """Colours and sizes of text follow the system."""
        super().changeEvent(event)
        if event.type() in (QEvent.Type.PaletteChange, QEvent.Type.FontChange):
            self.view_changed()

    def focusInEvent(self, event: QFocusEvent) -> None:
        """The keyboard comes in: it is somewhere."""
        super().focusInEvent(event)
        if self.view.current is None and self.view.layout.boxes:
            self.went.emit(self.view.spots()[0])
        self.viewport().update()

    # ---- the pointer

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Press on a spot, or take hold of the picture."""
        spot = self.spot_at(event.position())
        if event.button() == Qt.MouseButton.MiddleButton or (
            event.button() == Qt.MouseButton.LeftButton and spot is None
        ):
            self._pan = event.position().toPoint()
            self.viewport().setCursor(Qt.CursorShape.ClosedHandCursor)
        elif event.button() == Qt.MouseButton.LeftButton and spot is not None:
            self._press = (event.position().toPoint(), spot)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Point, drag a plug, or drag the picture."""
        at = event.position()
        if self._pan is not None:
            moved = at.toPoint() - self._pan
            self._pan = at.toPoint()
            self.horizontalScrollBar().setValue(self.horizontalScrollBar().value() - moved.x())
            self.verticalScrollBar().setValue(self.verticalScrollBar().value() - moved.y())
            return
        spot = self.spot_at(at)
        if self.view.held is not None and self._press is not None:
            self._scroll_at_edge(at)
            self._dragged = at
            self.viewport().setCursor(Qt.CursorShape.ClosedHandCursor)
            self.carried.emit(spot.key if spot is not None and spot.place.part == "hole" else None)
            return
        if self._press is not None:
            begun, pressed = self._press
            far = (at.toPoint() - begun).manhattanLength() >= QApplication.startDragDistance()
            hole = self.view.picture.holes.get(pressed.key)
            if far and pressed.part == "hole" and hole is not None and hole.plug is not None and self.movable:
                self.lifted.emit(hole.plug.key, hole.key)
            return
        self.pointed.emit(spot)
        self.viewport().setCursor(_cursor(spot))

    def _scroll_at_edge(self, at: QPointF) -> None:
        """A plug that is held at the edge draws the picture after it."""
        near, by = 1.5 * self.em, round(0.8 * self.em)
        for bar, place, end in (
            (self.horizontalScrollBar(), at.x(), self.viewport().width()),
            (self.verticalScrollBar(), at.y(), self.viewport().height()),
        ):
            if place < near:
                bar.setValue(bar.value() - by)
            elif place > end - near:
                bar.setValue(bar.value() + by)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Let go."""
        if self._pan is not None:
            self._pan = None
            self.viewport().setCursor(Qt.CursorShape.ArrowCursor)
        elif self._press is not None:
            pressed = self._press[1]
            self._press = self._dragged = None
            if self.view.held is not None:
                self.viewport().setCursor(Qt.CursorShape.ArrowCursor)
                self.dropped.emit()
            elif self.spot_at(event.position()) == pressed:
                self.went.emit(pressed.place)
                self.pressed.emit(pressed)

    def leaveEvent(self, event: QEvent) -> None:
        """The pointer is gone."""
        super().leaveEvent(event)
        if self._press is None:
            self.pointed.emit(None)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """With Ctrl the wheel zooms."""
        if event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            turns = event.angleDelta().y() / 120
            self.set_zoom(self.zoom * NOTCH**turns, event.position())
            event.accept()
        else:
            super().wheelEvent(event)

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:
        """There is none; all that can be done has a button or a key."""
        event.accept()

    def viewportEvent(self, event: QEvent) -> bool:
        """The tool-tip: the whole name of what is cut off on a tag."""
        if event.type() == QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            spot = self.spot_at(QPointF(event.pos()))
            words = self._whole(spot) if spot is not None else ""
            # Always plain: Qt takes for markup what looks like it.
            QToolTip.showText(event.globalPos(), _plain(words), self.viewport())
            return True
        return super().viewportEvent(event)

    def _whole(self, spot: Spot) -> str:
        if spot.place.part == "strip":
            strip = self.view.picture.strips[spot.key]
            return f"{strip.name}\n{strip.words}"
        plug = self.view.picture.holes[spot.key].plug
        return plug.name if plug is not None else ""

    # ---- keys

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Arrows travel, Space and Enter act, Escape puts back, + and − zoom."""
        action = KEYS.get(event.key())
        if event.text() in ("+", "=", "-", "0"):
            action = {"+": "nearer", "=": "nearer", "-": "further", "0": "fit"}[event.text()]
        if action is None or not self._act(action):
            super().keyPressEvent(event)

    def _act(self, action: str) -> bool:
        """Do what a key means; False if it means nothing now."""
        if action in ("nearer", "further"):
            self.set_zoom(self.zoom * (NOTCH if action == "nearer" else 1 / NOTCH))
        elif action == "fit":
            self.fit_wanted.emit()
        elif action == "search":
            self.search_wanted.emit()
        elif action == "back":
            if self.view.held is None:
                return False
            self.put_back.emit()
        elif action == "press":
            self._press_key()
        elif action == "tick":
            return self._tick_key()
        else:
            self._travel(action)
        return True

    def _travel(self, way: str) -> None:
        spot = next_spot(self.view, way)
        if spot is not None:
            if self.view.held is not None:
                self.carried.emit(spot.key)
            else:
                self.went.emit(spot)
            self.show_spot(spot)

    def _press_key(self) -> None:
        now = self.view.current
        if self.view.held is not None:
            self.dropped.emit()
        elif now is not None and now.part == "strip":
            self.pressed.emit(Spot("fold", now.key))
        elif now is not None:
            hole = self.view.picture.holes[now.key]
            self.pressed.emit(now)
            if hole.plug is not None and self.movable:
                self.lifted.emit(hole.plug.key, hole.key)

    def _tick_key(self) -> bool:
        now = self.view.current
        hole = self.view.picture.holes.get(now.key) if now is not None and now.part == "hole" else None
        if not self.view.ticking or hole is None or hole.plug is None:
            return False
        self.tick_wanted.emit(hole.plug.key)
        return True


def _cursor(spot: Spot | None) -> Qt.CursorShape:
    if spot is None:
        return Qt.CursorShape.ArrowCursor
    return Qt.CursorShape.PointingHandCursor


def _plain(words: str) -> str:
    """Text that Qt can't take for markup."""
    told = harmless(words)
    for char, written in (("&", "&amp;"), ("<", "&lt;"), (">", "&gt;"), ("\n", "<br>")):
        told = told.replace(char, written)
    return f"<p style='white-space:pre-wrap'>{told}</p>" if words else ""
