"""From measured intervals to figures, a verdict and a plain sentence. Knows no reports.

The bounds are common practice (no source) where no other source stands beside them.
"""

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property

from wizard.bus.pace import Gap, PaceVerdict

FEWEST_TO_JUDGE = 10
"""With fewer intervals than this nothing is said of the pace."""

_SLOW = 1.5
"""A device is slow if it takes this many times as long as promised."""
_OFF = 0.5
"""An interval is off if it differs from the usual one by more than this part of it."""
_IRREGULAR = 0.15
"""The pace is irregular if more than this part of the intervals is off."""
_WORDS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")


@dataclass(frozen=True)
class Measured:
    """What a measurement came to. `intervals` counts those between reports while the control was moved, gaps
    included, by length in microseconds."""

    seconds: float
    reports: int
    promised_ms: float | None
    intervals: Counter[int]
    gaps: tuple[Gap, ...] = ()
    gap_count: int = 0
    pauses: int = 0
    missing: int = 0

    @cached_property
    def total(self) -> int:
        """How many intervals count."""
        return sum(self.intervals.values())

    @property
    def is_enough(self) -> bool:
        """Whether there is enough to say anything."""
        return self.total >= FEWEST_TO_JUDGE

    def quantile(self, part: float) -> float | None:
        """The interval in ms that this part of all does not exceed."""
        return next(iter(quantiles(self.intervals, (part,)))) / 1000 if self.total else None

    @property
    def longest_ms(self) -> float | None:
        """The longest interval, gaps included."""
        return max(self.intervals) / 1000 if self.total else None

    @cached_property
    def off_share(self) -> float:
        """Which part of the intervals is off, gaps left out."""
        usual = self.quantile(0.5)
        if usual is None:
            return 0.0
        off = sum(n for us, n in self.intervals.items() if abs(us / 1000 - usual) > _OFF * usual)
        return max(0, off - self.gap_count) / self.total

    @cached_property
    def skipped(self) -> int:
        """How many usual intervals went by without a report, gaps left out: each interval of n usual ones is n − 1."""
        usual = self.quantile(0.5)
        if not usual:
            return 0
        long = sum(n * (round(us / 1000 / usual) - 1) for us, n in self.intervals.items() if us / 1000 > 1.5 * usual)
        in_gaps = sum(round(gap.ms / usual) - 1 for gap in self.gaps if gap.ms > 1.5 * usual)
        return max(0, long - in_gaps)

    @property
    def is_slow(self) -> bool:
        """Whether even the fastest tenth takes longer than promised; a hand moved gently spares the rest reports."""
        fastest = self.quantile(0.1)
        return self.promised_ms is not None and fastest is not None and fastest > _SLOW * self.promised_ms


def quantiles(counts: Counter[int], parts: Iterable[float]) -> Iterator[int]:
    """For each part the smallest value that this part of all does not exceed; `counts` must not be empty."""
    ordered, total = sorted(counts), sum(counts.values())
    for part in parts:
        wanted, seen = part * total, 0
        for value in ordered:
            seen += counts[value]
            if seen >= wanted:
                break
        yield value


def verdict_of(measured: Measured) -> PaceVerdict:
    """The one word. Gaps are what the user feels, so they come first."""
    if measured.gap_count:
        return "gaps"
    if not measured.is_enough:
        return "no_reports"
    if measured.is_slow:
        return "slow"
    return "irregular" if measured.off_share > _IRREGULAR else "steady"


def observations_of(measured: Measured) -> dict[str, str | float]:
    """What it means for a case; what is not known stays out."""
    if not measured.is_enough:
        return {}
    found: dict[str, str | float] = {}
    if measured.is_slow:
        found["report_rate"] = "lower"
    elif measured.off_share > _IRREGULAR:
        found["report_rate"] = "irregular"
    elif measured.promised_ms is not None:
        found["report_rate"] = "as_promised"
    longest = measured.longest_ms
    if longest is not None:
        found["report_gap_ms"] = longest
    return found


def words_of(measured: Measured) -> str:
    """The verdict in a sentence or two for a tired person."""
    if not measured.is_enough and not measured.gap_count:
        if not measured.reports:
            return "No reports came. Was the control being moved, and is it the right device?"
        return f"Only {_counted(measured.reports, 'report')} came while it was moved: too few to say anything."
    sentences = [f"{_pace_words(measured)}{_gap_words(measured)}"]
    if measured.pauses:
        silences = _counted(measured.pauses, "longer silence").capitalize()
        sentences.append(f"{silences} looked like rest and {'does' if measured.pauses == 1 else 'do'} not count.")
    if measured.missing:
        times = "once" if measured.missing == 1 else f"{measured.missing} times"
        sentences.append(f"The system says {times} that reports were lost because this PC did not fetch them in time.")
    return " ".join(sentences)


def _pace_words(measured: Measured) -> str:
    usual = _ms(measured.quantile(0.5) or 0.0)
    if measured.promised_ms is None:
        return f"Reports every {usual}; what was promised is not known"
    promised = _ms(measured.promised_ms)
    if measured.is_slow:
        return f"Reports every {usual} where every {promised} was promised: slower than it should be"
    if measured.off_share > _IRREGULAR:
        return f"Reports come unevenly, about every {usual} ({promised} promised)"
    return f"Reports every {promised} as promised"


def _gap_words(measured: Measured) -> str:
    if measured.gap_count:
        longest = max(gap.ms for gap in measured.gaps)
        lengths = f"of {_ms(longest)}" if measured.gap_count == 1 else f"of up to {_ms(longest)}"
        return f"; {_counted(measured.gap_count, 'gap')} {lengths} while it was moved: that is your lag."
    return f"; no gap (the longest wait was {_ms(measured.longest_ms or 0.0)})."


def _counted(number: int, thing: str) -> str:
    word = _WORDS[number] if number < len(_WORDS) else str(number)
    return f"{word} {thing}{'' if number == 1 else 's'}"


def _ms(value: float) -> str:
    """A time in words: `8 ms`, `0.125 ms`, `1.9 s`."""
    if value >= 1000:
        return f"{round(value / 1000, 1):g} s"
    return f"{round(value, 3 if value < 1 else 1 if value < 10 else None):g} ms"
