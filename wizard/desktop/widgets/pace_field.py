"""A field to move over and to press keys in: hands on when each event came, by the stamp the system gave it.

Judges nothing. Events of a mouse, a pen or a touch pad are one sort, keys another. A game pad sends nothing to a
window. While it listens, Qt is told not to merge moves; a system that merges them itself can't be helped.
"""

from collections.abc import Callable
from queue import Empty, SimpleQueue
from time import monotonic_ns

from PySide6.QtCore import QEvent, QPointF, QSize, Qt
from PySide6.QtGui import QFocusEvent, QInputEvent, QKeyEvent, QMouseEvent, QTabletEvent, QWheelEvent
from PySide6.QtWidgets import QApplication, QFrame, QSizePolicy, QVBoxLayout

from wizard.bus.pace import Report
from wizard.desktop import theme
from wizard.desktop.widgets.text import Text

POINTER, KEYS = "pointer", "keys"
_MERGE = Qt.ApplicationAttribute.AA_CompressHighFrequencyEvents
_LEAVES = frozenset({Qt.Key.Key_Tab, Qt.Key.Key_Backtab, Qt.Key.Key_Escape})


class Heard:
    """What a field hands on, for the thread that judges it."""

    def __init__(self) -> None:
        self._waiting: SimpleQueue[tuple[str, Report | None]] = SimpleQueue()

    def put(self, heard: tuple[str, Report | None]) -> None:
        """One more."""
        self._waiting.put(heard)

    def next(self, seconds: float) -> tuple[str, Report | None] | None:
        """The next one; None if none comes in so many seconds."""
        try:
            return self._waiting.get(timeout=seconds)
        except Empty:
            return None


class PaceField(QFrame):
    """Deaf until `begin`."""

    def __init__(self) -> None:
        super().__init__()
        self._put: Callable[[tuple[str, Report | None]], None] | None = None
        self._merging = True
        self._own_clock: bool | None = None
        self._at: QPointF | None = None
        self.setFrameShape(QFrame.Shape.Box)
        self.setMouseTracking(True)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        words = self.tr("Move the mouse in circles inside this frame, or press keys one after the other.")
        self.setAccessibleName(words)
        label = Text(words)
        label.setAlignment(Qt.AlignmentFlag.AlignCenter)
        label.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        QVBoxLayout(self).addWidget(label)

    def sizeHint(self) -> QSize:
        """Room for a hand's movement."""
        return QSize(theme.px(30), theme.px(12))

    def minimumSizeHint(self) -> QSize:
        """Still room for circles."""
        return QSize(theme.px(12), theme.px(8))

    def begin(self, put: Callable[[tuple[str, Report | None]], None]) -> None:
        """Hand on every event from now on; `put` may be told of hundreds a second and must not wait."""
        self.end()
        self._put, self._own_clock, self._at = put, None, None
        self._merging = QApplication.testAttribute(_MERGE)
        QApplication.setAttribute(_MERGE, False)
        self.setFocus()

    def end(self) -> None:
        """Hand on nothing more."""
        if self._put is not None:
            self._put = None
            QApplication.setAttribute(_MERGE, self._merging)

    def _report(self, sort: str, event: QInputEvent, way: float | None) -> None:
        if self._put is None:
            return
        stamp = event.timestamp()
        if self._own_clock is None:
            self._own_clock = stamp == 0  # a system that stamps nothing: then it counts when it got here
        at_us = monotonic_ns() // 1000 if self._own_clock else stamp * 1000
        self._put((sort, Report(at_us=at_us, way=way)))

    def _interrupt(self, sort: str) -> None:
        if self._put is not None:
            self._put((sort, None))

    def _pointer(self, event: QMouseEvent | QTabletEvent) -> None:
        at, before = event.globalPosition(), self._at
        self._at = at
        way = None if before is None else max(abs(at.x() - before.x()), abs(at.y() - before.y()))
        self._report(POINTER, event, way)
        event.accept()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """A report of the pointer."""
        self._pointer(event)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """A report of the pointer, too."""
        self._pointer(event)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """A report of the pointer, too."""
        self._pointer(event)

    def tabletEvent(self, event: QTabletEvent) -> None:
        """A report of a pen."""
        self._pointer(event)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """A report of the pointer that goes nowhere; the page does not scroll away under the hand."""
        self._report(POINTER, event, 0.0)
        event.accept()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """A report of the keyboard. What the system repeats of a held key is none; Tab and Escape lead out."""
        self._key(event)

    def keyReleaseEvent(self, event: QKeyEvent) -> None:
        """A report of the keyboard, too."""
        self._key(event)

    def _key(self, event: QKeyEvent) -> None:
        if self._put is None or event.key() in _LEAVES:
            event.ignore()
            return
        if not event.isAutoRepeat():
            self._report(KEYS, event, None)
        event.accept()

    def leaveEvent(self, event: QEvent) -> None:
        """What the pointer does outside is not seen: the time until it is back says nothing."""
        self._interrupt(POINTER)
        self._at = None
        super().leaveEvent(event)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Keys go elsewhere now."""
        self._interrupt(KEYS)
        super().focusOutEvent(event)
