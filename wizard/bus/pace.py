"""What was measured of the pace of an input device: the document, and the values on the way to it.

Knows shapes only; reading is the observers' business, judging that of `wizard.diagnosis.pace`.
"""

from collections.abc import Callable
from typing import Literal, NamedTuple

from pydantic import Field

from wizard.bus.document import Document

PaceVerdict = Literal["steady", "gaps", "slow", "irregular", "no_reports"]


class Report(NamedTuple):
    """One input report as it reached the system; no document, for there may be 8000 in a second.

    `at_us`: microseconds on the system's monotonic clock. `way`: how far the fastest control went in this report, in
    the device's own units; None where that can't be told. `held`: whether every control that moved now stands at the
    end of its range.
    `same`: whether it says exactly what the one before said, of a device that tells positions. `missed`: the system
    says that reports before this one were lost on the way to us (Linux: SYN_DROPPED), so the time before it says
    nothing but this: for `quiet_us` at least after the report before there was none.
    """

    at_us: int
    way: float | None = None
    held: bool = False
    same: bool = False
    missed: bool = False
    quiet_us: int = 0


Hear = Callable[[float], tuple[str, Report | None] | None]
"""Waits at most so many seconds for the next report and the sort of device it came from. The report is None where that
sort was not listened to for a while, all is None where nothing came."""

IN_WINDOW = "window"
"""What to ask for in place of a device to measure what our own window gets."""


class Beat(Document):
    """How a measurement stands, for a live picture: seconds since it began, reports so far, and the intervals since
    the last beat as (seconds since the beginning, length in ms), at most 2000 of them."""

    at_s: float
    reports: int
    intervals: tuple[tuple[float, float], ...] = ()


class PaceDevice(Document):
    """Something whose pace can be taken, or can't be, here and now.

    `path` is what to hand to a measurement (`/dev/input/event4`), `device` the id in the snapshot, `name` the name the
    system gives it (untrusted text). `readable` says whether it may be opened; if not, `why` says it in a sentence
    and `mend` how to get exactly that right.
    """

    path: str
    kind: Literal["event", "hidraw"]
    device: str | None = None
    interface: int | None = None
    name: str | None = None
    readable: bool = False
    why: str | None = None
    mend: str | None = None


class Gap(Document):
    """A silence while the control was being moved: seconds since the measurement began, and its length in ms."""

    at_s: float
    ms: float


class PaceDocument(Document):
    """The pace of one device: `portmend/pace/1`.

    `promised_ms` is the interval at which the host polls the device's endpoint, None where that is not known.
    `median_ms`, `p99_ms` and `longest_ms` are of the intervals between reports, rests left out. `opened` is false
    where nothing could be measured because the device can't be read; then `notes` say why and how to mend it.
    `pauses` counts the long silences that look like rest; `missing` how often the system said that reports were
    lost; `skipped` how many polls went by without a report while the control was moved. `words` is the verdict in a
    sentence, `observations` what it means for a case.
    """

    schema_: Literal["portmend/pace/1"] = Field(default="portmend/pace/1", alias="schema")
    device: str
    path: str | None = None
    name: str | None = None
    opened: bool = True
    seconds: float = 0.0
    reports: int = 0
    promised_ms: float | None = None
    median_ms: float | None = None
    p99_ms: float | None = None
    longest_ms: float | None = None
    gaps: tuple[Gap, ...] = ()
    pauses: int = 0
    missing: int = 0
    skipped: int = 0
    verdict: PaceVerdict = "no_reports"
    words: str = ""
    observations: dict[str, str | float] = Field(default_factory=dict)
    notes: tuple[str, ...] = ()
