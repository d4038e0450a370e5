"""Ctrl-C as a wish to end a long measurement, whose result still comes."""

import signal
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType


@contextmanager
def interrupts() -> Iterator[Callable[[], bool]]:
    """While this lasts, Ctrl-C stops nothing by itself; the function handed out says whether it was pressed."""
    pressed: list[int] = []

    def note(number: int, _frame: FrameType | None) -> None:
        pressed.append(number)

    before = signal.signal(signal.SIGINT, note)
    try:
        yield lambda: bool(pressed)
    finally:
        signal.signal(signal.SIGINT, before)
