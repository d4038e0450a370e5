"""Telling a gap from a rest: whether a silence between two reports fell into a movement. Knows no device, no clock.

A device says nothing while its control rests, and nothing while it hangs. What tells the two apart:

1. Somebody else saw it report all the while (a second, rawer way to the same reports): then it rested.
2. It reports at rest, too, and now it did not: then it hung, moved or not.
3. A hand slows down before it rests and speeds up afterwards: steps shrink and reports thin out. A silence
   that begins and ends in full swing is a gap. One at the end of a control's range is a rest, for there a
   hand stops at once.

What this can't tell: a mouse lifted off the table in full swing looks like a gap, and a device that hangs
just when the hand slows down looks like a rest. Both ends have to be clear for a gap, so that doubt counts
as rest. The numbers below are common practice (no source), held against hands simulated in the tests.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean, median
from typing import Literal

Silence = Literal["gap", "rest"]

WINDOW_US = 250_000
"""How far to either side of a silence movement is looked at; a hand takes some tenths of a second to stop."""

FEWEST = 4
"""So many reports on either side are needed to say anything."""

_AT_THE_EDGE = 3
_THINNED_OUT = 2.5  # times the usual interval
_SLOWED_DOWN = 0.4  # of the usual step
_WITNESSED = 3  # reports in between


@dataclass(frozen=True)
class Step:
    """One report as seen from a silence: microseconds to its neighbour, and how far the control went in it."""

    interval_us: int
    way: float | None


def judge_silence(
    before: Sequence[Step], after: Sequence[Step], held: bool, witnessed: int, reports_at_rest: bool
) -> Silence:
    """What a silence was. `before` and `after` are in order of time; `held` whether the control stood at the end of
    its range; `witnessed` how many reports another way saw in between; `reports_at_rest` whether this device is known
    to report without being moved."""
    if witnessed >= _WITNESSED:
        return "rest"
    if reports_at_rest:
        return "gap"
    if held or not in_swing(before) or not in_swing(tuple(reversed(after))):
        return "rest"
    return "gap"


def in_swing(towards: Sequence[Step]) -> bool:
    """Whether the movement was going on at full pace at its last step."""
    if len(towards) < FEWEST:
        return False
    usual = median(step.interval_us for step in towards)
    if any(step.interval_us > _THINNED_OUT * max(usual, 1) for step in towards[-_AT_THE_EDGE:]):
        return False
    ways = [step.way for step in towards if step.way is not None]
    if len(ways) < FEWEST:
        return True  # not known how far it went: the pace alone decides
    return fmean(ways[-_AT_THE_EDGE:]) >= _SLOWED_DOWN * fmean(ways)
