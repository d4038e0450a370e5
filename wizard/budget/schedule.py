"""A deterministic best-effort schedule: which frame is the worst, and who meets in it.

Works on slots of equal length (frames or microframes) and periods that are powers of two, as hosts use
them. Every load takes the phase in which its own slots stay lowest, the most frequent and heaviest first.
Knows nothing of USB.
"""

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Load:
    """Work that returns every `period` slots. `pieces` are (offset in slots, nanoseconds) of one service."""

    who: str
    endpoint: int
    period: int
    pieces: tuple[tuple[int, int], ...]
    booked_us: float = 0.0

    @property
    def ns(self) -> int:
        """Nanoseconds of one whole service."""
        return sum(ns for _, ns in self.pieces)


@dataclass(frozen=True)
class Schedule:
    """Loads in the order they were placed, nanoseconds each has in the worst slot, and the sum of those."""

    loads: tuple[Load, ...]
    in_worst_ns: tuple[int, ...]
    worst_ns: int


def power_of_two(number: int, most: int) -> int:
    """The greatest power of two that is at most `number` and `most`, and at least 1."""
    return 1 << (max(1, min(number, most)).bit_length() - 1)


def schedule(loads: Sequence[Load]) -> Schedule:
    """Place all loads; the result does not depend on their order. Raises ValueError for a bad period."""
    ordered = sorted(loads, key=lambda load: (load.period, -load.ns, load.who, load.endpoint))
    table = [0]
    phases: list[int] = []
    for load in ordered:
        if load.period < 1 or load.period & (load.period - 1):
            raise ValueError(f"a period must be a power of two: {load.period}")
        table *= max(1, load.period // len(table))
        phase = _lowest_phase(table, load)
        phases.append(phase)
        for offset, ns in load.pieces:
            for slot in range((phase + offset) % load.period, len(table), load.period):
                table[slot] += ns
    worst = max(range(len(table)), key=lambda slot: table[slot])
    shares = tuple(
        sum(ns for offset, ns in load.pieces if (worst - phase - offset) % load.period == 0)
        for load, phase in zip(ordered, phases, strict=True)
    )
    return Schedule(tuple(ordered), shares, table[worst])


def _lowest_phase(table: list[int], load: Load) -> int:
    """The phase whose own slots end up lowest; the first of equals. `table` holds exactly one period of the load."""
    if len(load.pieces) == 1:  # by far the most: no need to try each phase
        return (table.index(min(table)) - load.pieces[0][0]) % load.period
    return min(
        range(load.period),
        key=lambda phase: max(table[(phase + offset) % load.period] + ns for offset, ns in load.pieces),
    )
