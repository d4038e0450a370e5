"""Following open streams of input reports for a while, without ever waiting for one of them.

Knows clocks and handles; judges nothing. Nothing is written to a device, none is taken away from others
(Linux: EVIOCGRAB is never asked for), and no read blocks.
"""

import selectors
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from wizard.bus.errors import BadInputError
from wizard.bus.pace import Report
from wizard.observe.pace_streams import Stream

TICK_S = 0.05
"""How soon a wish to stop is heard."""
LONGEST_S = 24 * 3600.0


@dataclass(frozen=True)
class Listener:
    """What a measurement tells: each report with the stream it came from, and now and then the seconds gone by.

    `stop` is asked as often and ends it. All are called in the measuring thread.
    """

    report: Callable[[Stream, Report], None]
    tick: Callable[[float], None] = field(default=lambda _seconds: None)
    stop: Callable[[], bool] = field(default=lambda: False)


def check_seconds(seconds: float) -> None:
    """Raises BadInputError for a time nobody can mean."""
    if not 0 < seconds <= LONGEST_S:
        raise BadInputError("the time to measure", f"{seconds:g} s is not possible", "Give 1 to 86400 seconds.")


def follow(streams: Sequence[Stream], seconds: float, needed: Sequence[Stream], listener: Listener) -> float:
    """Read all streams for so many seconds, or until told to stop, or until all those `needed` are over.

    Returns how many seconds it took. The streams are closed afterwards, whatever happens.
    Raises BadInputError for a time nobody can mean.
    """
    try:
        check_seconds(seconds)
        with selectors.DefaultSelector() as waiting:
            for stream in streams:
                waiting.register(stream.handle, selectors.EVENT_READ, stream)
            return _followed(waiting, seconds, needed, listener)
    finally:
        for stream in streams:
            stream.close()


def _followed(waiting: selectors.BaseSelector, seconds: float, needed: Sequence[Stream], listener: Listener) -> float:
    started = told = time.monotonic()
    while True:
        now = time.monotonic()
        if now - told >= TICK_S:
            listener.tick(now - started)
            told = now
        if now - started >= seconds or listener.stop() or all(stream.over for stream in needed):
            listener.tick(now - started)
            return now - started
        ready = {key.data for key, _ in waiting.select(min(TICK_S, started + seconds - now))}
        for stream in [key.data for key in waiting.get_map().values()]:
            if stream in ready:
                _drain(stream, listener)
            else:
                stream.seen_empty()
            if stream.over:
                waiting.unregister(stream.handle)


def _drain(stream: Stream, listener: Listener) -> None:
    for report in stream.read():
        listener.report(stream, report)
