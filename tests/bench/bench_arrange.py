"""How long the planner takes for the best re-plug, and what that is worth.

Run in tests/, with Portmend installed in that Python: `python -m bench.bench_arrange`; shorter with `--desks 1`.

The desks are invented (`instances.py`). Targets are the project's own: the smaller size proven within 1 s; of the
larger a first sound plan within 2 s, and proven, or the gap stated, within 60 s. Beside the whole search stands what
of it passed inside the solver, and beside the moves of the best plan those of a greedy hand, who mends one thing
after another. All times are by the clock on the wall: a busy machine makes them longer.
"""

import argparse
import sys
import time
from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any
from unittest.mock import patch

from bench.instances import make_desk

from wizard.budget.entry import Entry
from wizard.budget.ledger import build_ledger
from wizard.budget.periodic import TIME_BUDGETS
from wizard.budget.setup import Setup
from wizard.bus.model import Snapshot
from wizard.bus.tree import natural_key
from wizard.plan.arrange import search as planner
from wizard.plan.arrange.desk import Desk, Plug, survey
from wizard.plan.arrange.layout import Layout, as_it_is
from wizard.plan.arrange.model import build
from wizard.plan.arrange.search import HELD, Blocked, Clock, Found, OutOfTime
from wizard.plan.arrange.solver import solve

SIZES = ((4, 20, 60), (8, 40, 127))
"""Controllers, hubs and devices: the sizes that the project promises."""

MOST_GREEDY_MOVES = 60
"""A greedy hand that is not done by then is given up; no desk here needs half as many."""


# --- the search, watched -----------------------------------------------------------------------------------------


@dataclass
class Watch:
    """What happened during a search: when it first had a sound arrangement, when it turned from fixed hubs to the
    whole (both in seconds from its start), and what the solver took of it."""

    first_sound: float | None = None
    whole_from: float | None = None
    solver_calls: int = 0
    solver_seconds: float = 0.0
    seconds: float = 0.0
    _begun: float = field(default_factory=time.perf_counter)

    @property
    def now(self) -> float:
        """Seconds since the start."""
        return time.perf_counter() - self._begun

    def solved(self, work: Callable[..., Any]) -> Callable[..., Any]:
        """The solver, timed."""

        def timed(*given: Any) -> Any:
            begun = self.now
            answer = work(*given)
            self.solver_calls += 1
            self.solver_seconds += self.now - begun
            return answer

        return timed

    def reckoned(self, work: Callable[..., tuple[Entry, ...]]) -> Callable[..., tuple[Entry, ...]]:
        """The budget engine; its first clean ledger is the first sound arrangement."""

        def noted(*given: Any) -> tuple[Entry, ...]:
            ledger = work(*given)
            if self.first_sound is None and not over(ledger):
                self.first_sound = self.now
            return ledger

        return noted

    def built(self, work: Callable[..., Any]) -> Callable[..., Any]:
        """The making of a program: the first is that with fixed hubs, the second the whole."""
        programs = 0

        def noted(*given: Any) -> Any:
            nonlocal programs
            programs += 1
            if programs == 2:
                self.whole_from = self.now
            return work(*given)

        return noted


def watched(desk: Desk, seconds: float) -> tuple[Found | Blocked | OutOfTime, Watch]:
    """The search of a desk within so many seconds, and what happened on the way."""
    watch = Watch()
    with (
        patch.object(planner, "solve", watch.solved(solve)),
        patch.object(planner, "build", watch.built(build)),
        patch.object(planner, "build_ledger", watch.reckoned(build_ledger)),
    ):
        found = planner.search(desk, "greatest", Clock(lambda: seconds - watch.now))
    watch.seconds = watch.now
    return found, watch


# --- a greedy hand -----------------------------------------------------------------------------------------------


def over(ledger: Sequence[Entry]) -> dict[tuple[str, str], float]:
    """What is overdrawn of that which an arrangement must hold, and by which part of its limit."""
    held = {*HELD, TIME_BUDGETS["greatest"]}
    return {
        (e.budget, e.where): (e.used or 0.0) / e.limit - 1 if e.limit else 1.0
        for e in ledger
        if e.state == "over" and e.budget in held
    }


@dataclass(frozen=True)
class Greedy:
    """What a greedy hand came to: where everything is, how often it moved a plug, what is overdrawn still."""

    arrangement: dict[str, str]
    moves: int
    left: Collection[tuple[str, str]]


def greedy(desk: Desk) -> Greedy:
    """Move, one at a time, the plug that relieves most to the first free socket that overdraws nothing new.

    Most relieving is the device without which the fewest budgets are overdrawn, and of equal ones those are
    overdrawn least. Hubs stay where they are: their trouble would move with them.
    """
    arrangement = as_it_is(desk)
    left = over(build_ledger(desk.snapshot, desk.setup))
    moves = 0
    while left and moves < MOST_GREEDY_MOVES:
        step = next(_steps(desk, arrangement, left), None)
        if step is None:
            break
        arrangement, left = step
        moves += 1
    return Greedy(arrangement, moves, tuple(left))


def _tried(desk: Desk, arrangement: dict[str, str]) -> tuple[dict[tuple[str, str], float], frozenset[str]]:
    """What is overdrawn in an arrangement, by old places, and the plugs that have a part in it."""
    layout = Layout(desk, arrangement)
    ledger = build_ledger(layout.snapshot, layout.setup)
    found = over(ledger)
    parts = [part.who for e in ledger if (e.budget, e.where) in found for part in e.parts]
    plugs = frozenset(desk.plug_of.get(layout.old_id.get(who, who), "") for who in parts)
    return {(budget, layout.was(where)): by for (budget, where), by in found.items()}, plugs


def _steps(
    desk: Desk, arrangement: dict[str, str], left: dict[tuple[str, str], float]
) -> Iterator[tuple[dict[str, str], dict[tuple[str, str], float]]]:
    """The moves that help, the greediest first, each with what it leaves overdrawn."""
    _, taking_part = _tried(desk, arrangement)
    weighed: list[tuple[int, float, Plug]] = []
    for plug in desk.movable:
        if plug.id in taking_part and not plug.is_hub:
            without, _ = _tried(desk, {p: at for p, at in arrangement.items() if p != plug.id})
            if sum(without.values()) < sum(left.values()):
                weighed.append((len(without), sum(without.values()), plug))
    taken = set(arrangement.values())
    free = [p for p in sorted(desk.places.values(), key=lambda p: natural_key(p.id)) if p.id not in taken]
    for count, by, plug in sorted(weighed, key=lambda w: (w[0], w[1], natural_key(w[2].id))):
        for place in free:
            if desk.allows(plug, place):
                moved = {**arrangement, plug.id: place.id}
                after, _ = _tried(desk, moved)
                if len(after) == count and sum(after.values()) <= by + 1e-9:
                    yield moved, after


# --- the table ---------------------------------------------------------------------------------------------------

HEADING = (
    f"{'desk':<14}{'number':>7}{'over':>6}{'first sound':>13}{'whole from':>12}{'end':>9}{'in solver':>11}"
    f"{'calls':>7}{'moves':>7}{'greedy':>8}  outcome"
)


def row(size: tuple[int, int, int], number: int, seconds: float) -> str:
    """One desk, measured."""
    snapshot, setup = make_desk(*size, seed=number)
    return measured("/".join(map(str, size)), number, snapshot, setup, seconds)


def measured(title: str, number: int, snapshot: Snapshot, setup: Setup, seconds: float) -> str:
    """The line of the table for a desk."""
    desk = survey(snapshot, setup)
    found, watch = watched(desk, seconds)
    hand = greedy(desk)
    by_hand = f"{hand.moves}" if not hand.left else f"{hand.moves}+?"
    moves = str(len(found.moved)) if isinstance(found, Found) else "-"
    overdrawn = len(over(build_ledger(snapshot, setup)))
    return (
        f"{title:<14}{number:>7}{overdrawn:>6}{_s(watch.first_sound):>13}{_s(watch.whole_from):>12}"
        f"{_s(watch.seconds):>9}{_s(watch.solver_seconds):>11}{watch.solver_calls:>7}{moves:>7}{by_hand:>8}"
        f"  {outcome(found)}"
    )


def outcome(found: Found | Blocked | OutOfTime) -> str:
    """Proven, or how much might be missing, in words."""
    if isinstance(found, Blocked):
        return f"nothing fits: {', '.join(found.names)}"
    if isinstance(found, OutOfTime):
        return "out of time, nothing found"
    if found.proven:
        return "proven best"
    return f"not proven: {found.at_least} moves or more are needed"


def _s(seconds: float | None) -> str:
    return "-" if seconds is None else f"{seconds:.2f} s"


def main(arguments: Sequence[str] | None = None, sizes: Sequence[tuple[int, int, int]] = SIZES) -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description="How long the planner takes, and what its plans are worth.")
    parser.add_argument("--seconds", type=float, default=60.0, help="most that a search may take")
    parser.add_argument("--desks", type=int, default=3, help="desks of each size")
    given = parser.parse_args(arguments)
    sys.stdout.write(
        "desk: controllers/hubs/devices; over: budgets overdrawn before; greedy n+?: stuck after n moves\n"
    )
    sys.stdout.write(f"{HEADING}\n")
    for size in sizes:
        for number in range(1, given.desks + 1):
            sys.stdout.write(f"{row(size, number, given.seconds)}\n")
            sys.stdout.flush()


if __name__ == "__main__":
    main()
