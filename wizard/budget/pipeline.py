"""The full-speed side of a translator, microframe by microframe: what can't be placed although the mean would fit.

USB 2.0 §11.18: what is reserved in a frame is budgeted in order, 188 bytes a microframe; nothing may be started in the
last but one (Y6), and a translator keeps 16 starts a microframe. Linux's EHCI driver adds rules of its own
(drivers/usb/host/ehci-sched.c, tt_available: limits confirmed, the rule for long streams from memory). Knows work by
name, bytes and microseconds; not whose it is.
"""

from collections.abc import Sequence
from typing import NamedTuple

BUDGET_BYTES = (188, 188, 188, 188, 188, 188, 29, 0)
"""Full-speed bytes without bit stuffing of each microframe Y0 to Y7: USB 2.0 §11.18.1 (second-hand)."""
NO_START_IN = 6
"""No start-split may stand in Y6, so nothing is budgeted from Y7 on: USB 2.0 §11.18.4 rule 1 (second-hand)."""
STARTS_PER_MICROFRAME = 16
"""Start-splits a translator keeps: USB 2.0 §11.18.4 rule 4 (second-hand)."""
START_BEFORE = 1
"""A start-split stands one microframe before the one its work is budgeted in: USB 2.0 §11.18.4 (second-hand)."""
COMPLETES_AFTER_START = (2, 3, 4)
"""Complete-splits of an interrupt endpoint, in microframes after its start-split; the last is left out for work
budgeted in Y6: USB 2.0 §11.18.4 rule 3 (second-hand)."""

EHCI_US = (125, 125, 125, 125, 125, 125, 30, 0)
"""What Linux's EHCI driver fills of each microframe, in us: max_tt_usecs (confirmed)."""
LONG_US = 125
"""A stream longer than this must find every microframe that it fills empty: tt_available (from memory)."""


class Work(NamedTuple):
    """One transaction on a translator's bus: its bytes without bit stuffing, overhead included, and its microseconds as
    Linux books them (rounded up)."""

    who: str
    bytes_: int
    us: int
    isochronous: bool = False


class Placed(NamedTuple):
    """Where each piece of work is budgeted to begin (in the order given), and what found no place."""

    begins: tuple[int | None, ...]
    refused: tuple[Work, ...]


def budgeted(works: Sequence[Work]) -> Placed:
    """Place work as the standard budgets it: streams first, in order, each where the one before it ends."""
    order = sorted(range(len(works)), key=lambda i: not works[i].isochronous)
    begins: list[int | None] = [None] * len(works)
    at, filled, starts = 0, 0, 0
    for index in order:
        while at < NO_START_IN and (filled >= BUDGET_BYTES[at] or starts == STARTS_PER_MICROFRAME):
            filled, starts, at = max(0, filled - BUDGET_BYTES[at]), 0, at + 1
        if filled + works[index].bytes_ > sum(BUDGET_BYTES[at:]) or starts == STARTS_PER_MICROFRAME:
            continue
        begins[index] = at
        filled += works[index].bytes_
        starts += 1
    return Placed(tuple(begins), tuple(works[i] for i in order if begins[i] is None))


def by_ehci(works: Sequence[Work]) -> Placed:
    """Place work as Linux's EHCI driver does, the longest first, each in the first microframe that takes it."""
    order = sorted(range(len(works)), key=lambda i: -works[i].us)
    begins: list[int | None] = [None] * len(works)
    table = [0] * len(EHCI_US)
    for index in order:
        for microframe in range(NO_START_IN + 1):
            after = _with(table, microframe, works[index].us)
            if after is not None:
                table, begins[index] = after, microframe
                break
    return Placed(tuple(begins), tuple(works[i] for i in order if begins[i] is None))


def _with(table: Sequence[int], microframe: int, us: int) -> list[int] | None:
    """The table with one more piece of work that begins in a microframe; None if it can't."""
    if table[microframe] >= EHCI_US[microframe]:
        return None
    if us > LONG_US and any(table[microframe : microframe + us // LONG_US]):
        return None
    after = list(table)
    after[microframe] += us
    for at, most in enumerate(EHCI_US[:-1]):
        spill = after[at] - most
        if spill > 0:
            after[at] = most
            after[at + 1] += spill
    return after if after[-1] <= EHCI_US[-1] else None
