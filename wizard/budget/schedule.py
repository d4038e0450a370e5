"""A deterministic best-effort schedule: which frame is the worst, and who meets in it.

Works on slots of equal length (frames or microframes) and periods that are powers of two, as hosts use
them. Every piece of work takes the phase whose slots are lowest so far, the most frequent and heaviest
first. The pieces of one service are placed each for itself: the distances a host keeps between a split
and its completion are not modelled, so that less work never makes the worst slot worse.
Knows nothing of USB.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from heapq import heapify, heapreplace


@dataclass(frozen=True)
class Load:
    """Work that returns every `period` slots, in one or more pieces of so many nanoseconds.

    `booked_us` is what a host driver writes down for one service, `service_ns` its time on the wires, `isochronous`
    whether it is a stream; they are carried along, not scheduled.
    """

    who: str
    endpoint: int
    period: int
    pieces: tuple[int, ...]
    booked_us: float = 0.0
    service_ns: int = 0
    isochronous: bool = False


@dataclass(frozen=True)
class Schedule:
    """The worst slot in nanoseconds, and what each load (in the order given) has in it."""

    worst_ns: int
    in_worst_ns: tuple[int, ...]


def power_of_two(number: int, most: int) -> int:
    """The greatest power of two that is at most `number` and `most`, and at least 1."""
    return 1 << (max(1, min(number, most)).bit_length() - 1)


def schedule(loads: Sequence[Load]) -> Schedule:
    """Place all loads; the worst slot does not depend on their order. Raises ValueError for a bad period."""
    pieces = sorted(
        (load.period, -ns, load.who, load.endpoint, index) for index, load in enumerate(loads) for ns in load.pieces
    )
    table = [0]
    lowest = [(0, 0)]
    placed: list[tuple[int, int, int, int]] = []
    for period, negative_ns, _, _, index in pieces:
        if period < 1 or period & (period - 1):
            raise ValueError(f"a period must be a power of two: {period}")
        if period != len(table):  # periods come in rising order, so the table holds one period of this piece
            table *= period // len(table)
            lowest = [(ns, slot) for slot, ns in enumerate(table)]
            heapify(lowest)
        ns, phase = lowest[0]
        table[phase] = ns - negative_ns
        heapreplace(lowest, (table[phase], phase))
        placed.append((index, period, phase, -negative_ns))
    worst = table.index(max(table))
    shares = [0] * len(loads)
    for index, period, phase, ns in placed:
        if (worst - phase) % period == 0:
            shares[index] += ns
    return Schedule(table[worst], tuple(shares))
