"""Things that a worker says while it works and that must all arrive: kept in order, handed over ten times a second.

A flood is handed over in portions, so that the window stays awake; what is kept beyond that is dropped, oldest first,
and counted. Only `put` may be called from another thread.
"""

from collections import deque
from typing import Any

from PySide6.QtCore import QObject, QTimer, Signal

EVERY_MS = 100
PORTION = 200
MOST = 20_000
"""How often, how much at a time, how much is kept: chosen so that a portion takes well under 50 ms."""


class Mailbox(QObject):
    """`arrived` gives a list of things, in order, in the thread of this object."""

    arrived = Signal(list)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        # Appending and taking from the left are atomic in a deque, so no lock is needed.
        self._things: deque[Any] = deque(maxlen=MOST)
        self._timer = QTimer(self)
        self._timer.setInterval(EVERY_MS)
        self._timer.timeout.connect(self.hand_over)

    def open(self) -> None:
        """From now on hand over what comes in; what came before is gone."""
        self._things.clear()
        self._timer.start()

    def close(self) -> None:
        """Hand over what is left and stop."""
        self._timer.stop()
        while self._things:
            self.hand_over()

    def put(self, thing: object) -> None:
        """Put something in; may be called from a worker."""
        self._things.append(thing)

    def hand_over(self) -> None:
        """Hand over the next portion, if there is anything."""
        portion: list[Any] = []
        while self._things and len(portion) < PORTION:
            portion.append(self._things.popleft())
        if portion:
            self.arrived.emit(portion)
