"""The pace of an input device as it comes: every interval between two reports as a stroke, as tall as it is long.

The heights are logarithmic, since a gap is hundreds of times a beat; a dashed line is what was promised. Gaps are
told from rests by the judge, not here; once judged, each stands out by shape and figure. Draws; measures nothing.
"""

from collections import deque
from collections.abc import Iterable
from math import ceil, log10

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from wizard.desktop import theme
from wizard.report.words import figure

LEAST_MS, MOST_MS = 0.1, 10_000.0
"""Shortest and longest interval on the scale: 8 kHz reports come every 0.125 ms, and ten seconds are a rest."""

KEPT = 60_000
"""Intervals kept for drawing: a minute at 1 kHz. Each column of dots shows its shortest and its longest."""


class PacePlot(QWidget):
    """Intervals over time."""

    def __init__(self) -> None:
        super().__init__()
        self._intervals: deque[tuple[float, float]] = deque(maxlen=KEPT)
        self._gaps: tuple[tuple[float, float], ...] = ()
        self._promised: float | None = None
        self._seconds = 1.0
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName(self.tr("Intervals between reports, over time"))

    def sizeHint(self) -> QSize:
        """Wide rather than high."""
        return QSize(theme.px(30), theme.px(12))

    def minimumSizeHint(self) -> QSize:
        """Enough for the scale."""
        return QSize(theme.px(12), theme.px(8))

    def clear(self, seconds: float = 1.0) -> None:
        """Begin anew; the time axis is so long at first."""
        self._intervals.clear()
        self._gaps, self._promised, self._seconds = (), None, seconds
        self.update()

    def add(self, at_s: float, intervals: Iterable[tuple[float, float]]) -> None:
        """More intervals, as (seconds since the beginning, length in ms)."""
        self._intervals.extend(intervals)
        self._seconds = max(self._seconds, at_s)
        self.update()

    def judge(self, promised_ms: float | None, gaps: Iterable[tuple[float, float]]) -> None:
        """What was promised, and which silences are gaps."""
        self._promised, self._gaps = promised_ms, tuple(gaps)
        self.setAccessibleDescription(
            self.tr("%1 gaps, the longest %2 ms")
            .replace("%1", str(len(self._gaps)))
            .replace("%2", figure(max((ms for _at, ms in self._gaps), default=0.0)))
        )
        self.update()

    def _field(self) -> QRectF:
        return QRectF(theme.px(4.2), theme.px(0.8), self.width() - theme.px(5), self.height() - theme.px(2.6))

    def place(self, at_s: float, ms: float) -> QPointF:
        """Where an interval is drawn."""
        box = self._field()
        share = (log10(min(max(ms, LEAST_MS), MOST_MS)) - log10(LEAST_MS)) / (log10(MOST_MS) - log10(LEAST_MS))
        return QPointF(box.left() + box.width() * at_s / max(self._seconds, 0.001), box.bottom() - box.height() * share)

    def columns(self) -> dict[int, tuple[float, float]]:
        """For each column of dots, the shortest and the longest interval that falls there, in ms."""
        found: dict[int, tuple[float, float]] = {}
        for at_s, ms in self._intervals:
            x = int(self.place(at_s, ms).x())
            low, high = found.get(x, (ms, ms))
            found[x] = (min(low, ms), max(high, ms))
        return found

    def paintEvent(self, event: QPaintEvent) -> None:
        """Scale, strokes, promise, gaps."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setFont(theme.sized(self.font(), theme.SMALL))
        self._paint_scale(painter)
        colours = theme.colours()
        foot = self._field().bottom()
        painter.setPen(QPen(QColor(colours.accent), 1.4))
        for x, (low, high) in self.columns().items():
            top, bottom = self.place(0, high).y(), self.place(0, low).y()
            painter.drawLine(QPointF(x, top), QPointF(x, max(bottom, top + 1.5)))
        if self._promised is not None:
            self._paint_promise(painter, self._promised)
        for at_s, ms in self._gaps:
            self._paint_gap(painter, self.place(at_s, ms), foot, ms)
        if not self._intervals:
            painter.setPen(QColor(colours.quiet))
            painter.drawText(
                self._field(), int(Qt.AlignmentFlag.AlignCenter), self.tr("Nothing came in yet: move the control.")
            )

    def _paint_scale(self, painter: QPainter) -> None:
        colours, box = theme.colours(), self._field()
        painter.fillRect(box, QColor(colours.card))
        for ms, words in ((1.0, "1 ms"), (10.0, "10 ms"), (100.0, "100 ms"), (1000.0, "1 s"), (10_000.0, "10 s")):
            y = self.place(0, ms).y()
            painter.setPen(QPen(QColor(colours.line), 1))
            painter.drawLine(QPointF(box.left(), y), QPointF(box.right(), y))
            painter.setPen(QColor(colours.quiet))
            side = QRectF(0, y - theme.px(0.6), box.left() - theme.px(0.4), theme.px(1.2))
            painter.drawText(side, int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter), words)
        step = _round_step(self._seconds / 5)
        for number in range(int(self._seconds / step) + 1):
            x = self.place(number * step, 1).x()
            below = QRectF(x - theme.px(2), box.bottom() + 2, theme.px(4), theme.px(1.2))
            painter.drawText(below, int(Qt.AlignmentFlag.AlignHCenter), f"{figure(number * step)} s")

    def _paint_promise(self, painter: QPainter, promised: float) -> None:
        box, y = self._field(), self.place(0, promised).y()
        painter.setPen(QPen(QColor(theme.colours().text), 1.4, Qt.PenStyle.DashLine))
        painter.drawLine(QPointF(box.left(), y), QPointF(box.right(), y))
        words = self.tr("promised: %1 ms").replace("%1", figure(promised, 2))
        side = QRectF(box.left(), y - theme.px(1.3), box.width() - theme.px(0.3), theme.px(1.2))
        painter.drawText(side, int(Qt.AlignmentFlag.AlignRight), words)

    def _paint_gap(self, painter: QPainter, top: QPointF, foot: float, ms: float) -> None:
        colour = QColor(theme.colours().over)
        painter.setPen(QPen(colour, 2))
        painter.drawLine(top, QPointF(top.x(), foot))
        cap = theme.px(0.35)
        painter.drawLine(top + QPointF(-cap, 0), top + QPointF(cap, 0))
        box = self._field()
        left = min(max(top.x() - theme.px(3), box.left()), box.right() - theme.px(6))
        words = QRectF(left, top.y() - theme.px(1.3), theme.px(6), theme.px(1.2))
        painter.drawText(words, int(Qt.AlignmentFlag.AlignHCenter), f"{figure(ms)} ms")


def _round_step(about: float) -> float:
    """A step of 1, 2 or 5 times a power of ten, at least so large."""
    if about <= 0:
        return 1.0
    power = 10.0 ** (ceil(log10(about)) - 1)
    return next(power * f for f in (1, 2, 5, 10) if power * f >= about)
