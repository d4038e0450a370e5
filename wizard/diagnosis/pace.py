"""The pace of an input device judged report by report, in memory that does not grow with time.

Feed a `PaceJudge` with reports in order, then ask it for the document. Knows no device and no clock: time
comes with the reports. What is a gap and what a rest says `pace_rest`.
"""

from collections import Counter, deque
from dataclasses import dataclass, field

from wizard.bus.pace import Beat, Gap, PaceDocument, Report
from wizard.diagnosis.pace_rest import FEWEST, WINDOW_US, Step, judge_silence
from wizard.diagnosis.pace_words import FEWEST_TO_JUDGE, Measured, observations_of, verdict_of, words_of

LEAST_GAP_MS = 15.0
"""A gap is longer than this and than four promised intervals: the published meaning of a gap."""
GAP_INTERVALS = 4

_MOST_STEPS = 512
_MOST_GAPS = 1000
_MOST_IN_BEAT = 2000
_FINE_US = 20_000  # up to here intervals are counted to the microsecond
_COARSE_US = 100
_RECENT = 32  # intervals by which a device's own pace is known
_OWN_PACE = 2.5  # an interval is no silence if it is shorter than so many usual ones of an even pace
_EVEN = 1.5  # how far the middle three fifths of even intervals are apart
_BEHIND_US = 10_000  # the second way to a report may be read that much later
_MOST_WITNESSES = 256


@dataclass
class _Open:
    """A silence whose other side is still being gathered."""

    at_us: int
    length_us: int
    before: tuple[Step, ...]
    held: bool
    witnessed: int
    after: list[Step] = field(default_factory=list)
    after_us: int = 0


class PaceJudge:
    """One measurement. `promised_ms` is how often the host polls, None if that is not known; `least_gap_ms` is what a
    gap is longer than at least, where the reports come by a coarser way than usual."""

    def __init__(self, promised_ms: float | None, least_gap_ms: float = LEAST_GAP_MS) -> None:
        self._promised_ms = promised_ms
        self._least_us = 1000 * max(least_gap_ms, GAP_INTERVALS * (promised_ms or 0.0))
        self._first_us: int | None = None
        self._last: Report | None = None
        self._steps: deque[Step] = deque(maxlen=_MOST_STEPS)
        self._reach_us = 0
        self._recent: deque[int] = deque(maxlen=_RECENT)
        self._open: _Open | None = None
        self._witnesses: deque[int] = deque(maxlen=_MOST_WITNESSES)
        self._witnessed = 0
        self._same = 0
        self._reports_at_rest = False
        self._counts: Counter[int] = Counter()
        self._gaps: list[Gap] = []
        self._gap_count = 0
        self._rests: Counter[int] = Counter()
        self._missing = 0
        self._reports = 0
        self._fresh: list[tuple[float, float]] = []

    @property
    def reports(self) -> int:
        """How many reports there were so far."""
        return self._reports

    def witness(self, at_us: int) -> None:
        """Another way to the same device has seen a report of it, at that time on the same clock."""
        if self._last is not None and at_us > self._last.at_us + _BEHIND_US:
            self._witnesses.append(at_us)
            self._witnessed += 1

    def report(self, report: Report) -> None:
        """Take in the next report."""
        self._reports += 1
        before, self._last = self._last, report
        if self._first_us is None:
            self._first_us = report.at_us
        if report.missed:
            self._missing += 1
        if before is not None:
            # Of a time in which reports were lost, only that is known for certain.
            length_us = report.quiet_us if report.missed else report.at_us - before.at_us
            self._interval(before, max(0, length_us), report)
        self._witnesses.clear()
        self._witnessed = 0

    def interrupted(self) -> None:
        """Nobody listened since the last report: it and the next one are no neighbours."""
        self._settle()
        self._restart()
        self._last = None

    def _witnessed_before(self, end_us: int) -> int:
        """How many reports were witnessed in the silence that ends then; not those that end it."""
        return self._witnessed - sum(at_us >= end_us for at_us in self._witnesses)

    def _interval(self, before: Report, length_us: int, report: Report) -> None:
        if len(self._fresh) < _MOST_IN_BEAT:
            self._fresh.append((self._seconds(report.at_us), length_us / 1000))
        self._same = self._same + 1 if report.same and length_us <= self._least_us else 0
        self._reports_at_rest = self._reports_at_rest or self._same >= FEWEST
        is_silence = length_us > self._least_us and length_us > _OWN_PACE * self._own_pace_us()
        self._recent.append(length_us)
        if is_silence:
            self._settle()
            witnessed = self._witnessed_before(before.at_us + length_us)
            self._open = _Open(before.at_us, length_us, tuple(self._steps), before.held, witnessed)
            self._restart()
        elif report.missed:
            self._settle()
            self._restart()
        else:
            self._counts[_bin(length_us)] += 1
            self._step(Step(length_us, report.way))

    def _own_pace_us(self) -> int:
        """The usual interval of late, if the pace is even; a slow device is no row of silences. 0 if it is not: a hand
        that taps now and then is never so even."""
        if len(self._recent) < FEWEST_TO_JUDGE:
            return 0
        ordered = sorted(self._recent)
        low, usual, high = (ordered[len(ordered) * part // 10] for part in (2, 5, 8))
        return usual if high <= _EVEN * low else 0

    def _restart(self) -> None:
        self._steps.clear()
        self._reach_us = 0

    def _step(self, step: Step) -> None:
        if len(self._steps) == _MOST_STEPS:
            self._reach_us -= self._steps[0].interval_us
        self._steps.append(step)
        self._reach_us += step.interval_us
        while self._reach_us > WINDOW_US and len(self._steps) > FEWEST:
            self._reach_us -= self._steps.popleft().interval_us
        if self._open is not None:
            self._open.after.append(step)
            self._open.after_us += step.interval_us
            if self._open.after_us >= WINDOW_US or len(self._open.after) >= _MOST_STEPS:
                self._settle()

    def _settle(self) -> None:
        """Decide what the silence was that is still open, with what there is of its other side."""
        silence, self._open = self._open, None
        if silence is None:
            return
        if silence.witnessed and _is_flow(silence.witnessed, silence.length_us, self._least_us):
            self._reports_at_rest = True
        what = judge_silence(silence.before, silence.after, silence.held, silence.witnessed, self._reports_at_rest)
        if what == "rest":
            self._rests[_bin(silence.length_us)] += 1
            return
        self._gap_count += 1
        self._counts[_bin(silence.length_us)] += 1
        if len(self._gaps) < _MOST_GAPS:
            self._gaps.append(Gap(at_s=round(self._seconds(silence.at_us), 4), ms=round(silence.length_us / 1000, 3)))

    def _seconds(self, at_us: int) -> float:
        return (at_us - (self._first_us or 0)) / 1e6

    def beat(self, at_s: float) -> Beat:
        """How it stands after so many seconds; hands over the intervals since the last beat."""
        fresh, self._fresh = tuple(self._fresh), []
        return Beat(at_s=at_s, reports=self._reports, intervals=fresh)

    def document(self, device: str, seconds: float) -> PaceDocument:
        """What was measured in so many seconds. A silence that has not ended says nothing: nobody knows whether the
        control was still being moved."""
        self._settle()
        counts, rests = self._counted()
        measured = Measured(
            seconds=seconds,
            reports=self._reports,
            promised_ms=self._promised_ms,
            intervals=counts,
            gaps=tuple(self._gaps),
            gap_count=self._gap_count,
            pauses=rests,
            missing=self._missing,
        )
        return PaceDocument(
            device=device,
            seconds=round(seconds, 3),
            reports=self._reports,
            promised_ms=self._promised_ms,
            median_ms=measured.quantile(0.5),
            p99_ms=measured.quantile(0.99),
            longest_ms=measured.longest_ms,
            gaps=measured.gaps,
            pauses=measured.pauses,
            missing=self._missing,
            skipped=measured.skipped,
            verdict=verdict_of(measured),
            words=words_of(measured),
            observations=observations_of(measured),
        )

    def _counted(self) -> tuple[Counter[int], int]:
        """The intervals that count, and how many were rests. Long ones at the beginning, before the device's own pace
        was known, turn out to be that pace if there is nothing else like it."""
        usual = self._own_pace_us()
        pace = Counter({us: n for us, n in self._rests.items() if us <= _OWN_PACE * usual})
        return self._counts + pace, sum(self._rests.values()) - sum(pace.values())


def _bin(us: int) -> int:
    """Microseconds as they are counted; longer ones coarser, so that the number of bins stays small."""
    return us if us < _FINE_US else us - us % _COARSE_US


def _is_flow(witnessed: int, length_us: int, least_us: float) -> bool:
    """Whether so many reports during a silence are a stream of them, not a stray one."""
    return witnessed >= FEWEST and length_us / witnessed <= least_us
