"""What happened on the bus, over time: one thread for each place, interrupted while the device is away.

Draws; knows a few kinds of events by their shape and leaves the rest a plain knot. A word stands beside each in the
list below it.
"""

from collections import deque
from collections.abc import Iterable

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from wizard.bus.watching import MARK, RESUMED, SLEPT, SUSPENDED, WatchEvent
from wizard.desktop import theme
from wizard.report.clean import one_line, shortened

KEPT = 400
"""Events kept for drawing of each place; more would be a grey band (chosen for the eye)."""

MOST_PLACES = 200
"""Places kept; a bus that makes up ever new ones must not fill the memory."""

MOST_THREADS = 14
"""Places drawn at once: those with the latest events (chosen for the eye)."""

HARMLESS = frozenset({"connect", "disconnect", SUSPENDED, RESUMED, SLEPT, MARK, "descriptor_odd", "speed_changed"})
"""Kinds that are no trouble by themselves: drawn in the plain colour."""


class TimeLine(QWidget):
    """Events over time, a thread for each place."""

    def __init__(self) -> None:
        super().__init__()
        self._by_place: dict[str, deque[WatchEvent]] = {}
        self._marks: deque[float] = deque(maxlen=KEPT)
        self._now = 10.0
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName(self.tr("What happened on the bus, over time"))

    def sizeHint(self) -> QSize:
        """Room for the threads there are."""
        return QSize(theme.px(30), theme.px(4.5 + 1.7 * max(len(self.places()), 3)))

    def minimumSizeHint(self) -> QSize:
        """Three threads."""
        return QSize(theme.px(16), theme.px(8))

    def clear(self) -> None:
        """Begin anew."""
        self._by_place = {}
        self._marks.clear()
        self._now = 10.0
        self.updateGeometry()
        self.update()

    def add(self, events: Iterable[WatchEvent]) -> None:
        """More events, in order."""
        before = len(self.places())
        for event in events:
            self._keep(event)
            self._now = max(self._now, event.t)
        if len(self.places()) != before:
            self.updateGeometry()
        self.update()

    def _keep(self, event: WatchEvent) -> None:
        if event.kind == MARK:
            self._marks.append(event.t)
        elif event.kind != SLEPT:
            self._by_place.setdefault(event.where, deque(maxlen=KEPT)).append(event)
            if len(self._by_place) > MOST_PLACES:
                del self._by_place[min(self._by_place, key=lambda place: self._by_place[place][-1].t)]

    def move_to(self, now: float) -> None:
        """It is so many seconds since the beginning."""
        self._now = max(self._now, now)
        self.update()

    def places(self) -> tuple[str, ...]:
        """The places drawn, those with the latest events, in order of their names."""
        latest = {place: events[-1].t for place, events in self._by_place.items()}
        chosen = sorted(latest, key=lambda place: -latest[place])[:MOST_THREADS]
        return tuple(sorted(chosen))

    def away(self, place: str) -> list[tuple[float, float]]:
        """When the device at a place was away, from and to, in seconds; up to now if it is still away."""
        spells: list[tuple[float, float]] = []
        gone: float | None = None
        for event in self._by_place.get(place, ()):
            if event.kind == "disconnect" and gone is None:
                gone = event.t
            elif event.kind == "connect" and gone is not None:
                spells.append((gone, event.t))
                gone = None
        return [*spells, (gone, self._now)] if gone is not None else spells

    def _name_width(self) -> float:
        return min(theme.px(13), self.width() * 0.34)

    def x_of(self, t: float) -> float:
        """Where a moment stands."""
        left, right = self._name_width() + theme.px(0.5), self.width() - theme.px(0.8)
        return left + (right - left) * t / max(self._now, 0.001)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Marks of the user, threads, events."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setFont(theme.sized(self.font(), theme.SMALL))
        painter.fillRect(self.rect(), QColor(theme.colours().card))
        places = self.places()
        pitch = theme.px(1.7)
        top = theme.px(2.4)
        foot = top + pitch * max(len(places), 1)
        for mark in self._marks:
            self._paint_flag(painter, self.x_of(mark), foot)
        for number, place in enumerate(places):
            self._paint_thread(painter, place, top + pitch * (number + 0.5))
        if not places:
            painter.setPen(QColor(theme.colours().quiet))
            room = QRectF(0, top, self.width(), pitch)
            painter.drawText(room, int(Qt.AlignmentFlag.AlignCenter), self.tr("Nothing has happened yet."))
        self._paint_clock(painter, foot)

    def _paint_flag(self, painter: QPainter, x: float, foot: float) -> None:
        painter.setPen(QPen(QColor(theme.colours().text), 1.6, Qt.PenStyle.DashLine))
        top = theme.px(0.4)
        painter.drawLine(QPointF(x, top), QPointF(x, foot))
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(QColor(theme.colours().text))
        cloth = theme.px(0.9)
        painter.drawPolygon(QPolygonF([QPointF(x, top), QPointF(x + cloth, top + cloth / 2), QPointF(x, top + cloth)]))

    def _paint_thread(self, painter: QPainter, place: str, y: float) -> None:
        colours = theme.colours()
        events = self._by_place[place]
        name = next((e.name for e in reversed(events) if e.name), None)
        words = one_line(shortened(f"{name} ({place})" if name else place, 60))
        painter.setPen(QColor(colours.text))
        elided = QFontMetricsF(painter.font()).elidedText(words, Qt.TextElideMode.ElideMiddle, self._name_width())
        painter.drawText(QRectF(0, y - theme.px(0.8), self._name_width(), theme.px(1.6)), _RIGHT, elided)
        painter.setPen(QPen(QColor(colours.quiet), 2))
        at = self.x_of(0)
        for gone, back in self.away(place):
            painter.drawLine(QPointF(at, y), QPointF(self.x_of(gone), y))
            at = self.x_of(back)
        painter.drawLine(QPointF(at, y), QPointF(self.x_of(self._now), y))
        for event in events:
            self._paint_event(painter, event, y)

    def _paint_event(self, painter: QPainter, event: WatchEvent, y: float) -> None:
        colours = theme.colours()
        x, size = self.x_of(event.t), theme.em() * 0.33
        colour = QColor(colours.accent if event.kind in HARMLESS else colours.over)
        painter.setPen(QPen(colour, 2))
        painter.setBrush(QColor(colours.card))
        if event.kind == "disconnect":  # a cut across the thread
            for shift in (0.0, size * 0.8):
                at = x + shift
                painter.drawLine(QPointF(at - size * 0.5, y + size), QPointF(at + size * 0.5, y - size))
        elif event.kind == "connect":  # tied in
            painter.drawEllipse(QPointF(x, y), size * 0.8, size * 0.8)
        elif event.kind in (SUSPENDED, RESUMED):
            painter.drawLine(QPointF(x, y - size), QPointF(x, y + size))
        else:
            painter.setBrush(colour if event.kind not in HARMLESS else QColor(colours.card))
            painter.drawRect(QRectF(x - size * 0.8, y - size * 0.8, size * 1.6, size * 1.6))

    def _paint_clock(self, painter: QPainter, foot: float) -> None:
        painter.setPen(QColor(theme.colours().quiet))
        for share in (0.0, 0.25, 0.5, 0.75, 1.0):
            x = self.x_of(self._now * share)
            wide = theme.px(4)
            left = min(max(x - wide / 2, 0.0), self.width() - wide)
            painter.drawText(
                QRectF(left, foot + 2, wide, theme.px(1.3)),
                int(Qt.AlignmentFlag.AlignHCenter),
                clock_words(self._now * share),
            )


_RIGHT = int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)


def clock_words(seconds: float) -> str:
    """Seconds since the beginning as `1:05` or `2:01:05`."""
    whole = round(seconds)
    hours, rest = divmod(whole, 3600)
    return f"{hours}:{rest // 60:02d}:{rest % 60:02d}" if hours else f"{rest // 60}:{rest % 60:02d}"
