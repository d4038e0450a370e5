"""How long the planner takes for the best re-plug, and what that is worth.

Run in tests/, with Portmend installed in that Python: `python -m bench.bench_arrange`; shorter with `--desks 1`.

The desks are invented (`instances.py`). Targets are the project's own: the smaller size proven within 1 s; of the
larger a first sound plan within 2 s, and proven, or the gap stated, within 60 s. Times are by the clock on the wall,
which a busy machine makes longer, but for the columns that say CPU: what this process itself used. Beside the whole
search stands what of it passed inside the solver; with `--raw` also what the solver takes for the whole program in one
go, every plug and hub free to move, before the engine has said a word. Beside the moves of the best plan stand the
bound that proves it and those of a greedy hand, who mends one thing after another.
"""

import argparse
import sys
import time
from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any
from unittest.mock import patch

from bench.instances import make_desk, make_tight_desk

from wizard.budget.entry import Entry
from wizard.budget.ledger import build_ledger
from wizard.budget.periodic import TIME_BUDGETS
from wizard.budget.setup import Setup
from wizard.bus.model import Snapshot
from wizard.bus.tree import natural_key
from wizard.plan.arrange import bound as bounds
from wizard.plan.arrange import pursuit as pursuits
from wizard.plan.arrange.bound import least_to_move
from wizard.plan.arrange.clock import Clock
from wizard.plan.arrange.desk import Desk, Plug, survey
from wizard.plan.arrange.held import HELD
from wizard.plan.arrange.layout import Layout, as_it_is
from wizard.plan.arrange.model import build
from wizard.plan.arrange.pursuit import Blocked, Found, OutOfTime
from wizard.plan.arrange.search import search
from wizard.plan.arrange.solver import solve

SIZES = ((4, 20, 60), (8, 40, 127))
"""Controllers, hubs and devices: the sizes that the project promises."""

TIGHT = ((2, 10, 38), (4, 10, 44), (8, 30, 118))
"""The same of desks with a few free sockets left."""

MOST_GREEDY_MOVES = 60
"""A greedy hand that is not done by then is given up; no desk here needs half as many."""


# --- the search, watched -----------------------------------------------------------------------------------------


@dataclass
class Watch:
    """What happened during a search: when it first had a sound arrangement (seconds from its start), what the solver
    took of it (CPU seconds), and how long it took in all."""

    first_sound: float | None = None
    solver_calls: int = 0
    solver_cpu: float = 0.0
    seconds: float = 0.0
    cpu: float = 0.0
    _begun: float = field(default_factory=time.perf_counter)

    @property
    def now(self) -> float:
        """Seconds since the start."""
        return time.perf_counter() - self._begun

    def solved(self, work: Callable[..., Any]) -> Callable[..., Any]:
        """The solver, timed."""

        def timed(*given: Any) -> Any:
            begun = time.process_time()
            answer = work(*given)
            self.solver_calls += 1
            self.solver_cpu += time.process_time() - begun
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


def watched(desk: Desk, seconds: float) -> tuple[Found | Blocked | OutOfTime, Watch]:
    """The search of a desk within so many seconds, and what happened on the way."""
    watch = Watch()
    begun = time.process_time()
    timed = watch.solved(solve)
    with (
        patch.object(pursuits, "solve", timed),
        patch.object(bounds, "solve", timed),
        patch.object(pursuits, "build_ledger", watch.reckoned(build_ledger)),
    ):
        found = search(desk, "greatest", Clock(lambda: seconds - watch.now))
    watch.seconds = watch.now
    watch.cpu = time.process_time() - begun
    return found, watch


def raw(desk: Desk, seconds: float) -> tuple[float, str]:
    """CPU seconds that the solver takes for the fewest moves in the whole program at once, and how it ended."""
    model = build(desk, "greatest", frozenset(p.id for p in desk.movable))
    begun = time.process_time()
    answer = solve(model.program, {model.stay[p.id]: -1.0 for p in desk.movable}, seconds)
    return time.process_time() - begun, answer.status


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
    f"{'desk':<12}{'number':>7}{'over':>5}{'first sound':>12}{'end':>8}{'CPU':>8}{'solver CPU':>11}"
    f"{'calls':>6}{'bound':>6}{'moves':>6}{'greedy':>7}  outcome"
)


def row(size: tuple[int, int, int], number: int, seconds: float, with_raw: bool = False, tight: bool = False) -> str:
    """One desk, measured."""
    snapshot, setup = (make_tight_desk if tight else make_desk)(*size, seed=number)
    line = measured("/".join(map(str, size)), number, snapshot, setup, seconds)
    if with_raw:
        cpu, status = raw(survey(snapshot, setup), seconds)
        line += f"; raw {cpu:.2f} s CPU, {status}"
    return line


def measured(title: str, number: int, snapshot: Snapshot, setup: Setup, seconds: float) -> str:
    """The line of the table for a desk."""
    desk = survey(snapshot, setup)
    least = least_to_move(desk, "greatest", desk.movable, Clock(lambda: seconds)).moves
    found, watch = watched(desk, seconds)
    hand = greedy(desk)
    by_hand = f"{hand.moves}" if not hand.left else f"{hand.moves}+?"
    moves = str(len(found.moved)) if isinstance(found, Found) else "-"
    overdrawn = len(over(build_ledger(snapshot, setup)))
    return (
        f"{title:<12}{number:>7}{overdrawn:>5}{_s(watch.first_sound):>12}{_s(watch.seconds):>8}{_s(watch.cpu):>8}"
        f"{_s(watch.solver_cpu):>11}{watch.solver_calls:>6}{least:>6}{moves:>6}{by_hand:>7}  {outcome(found)}"
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
    parser.add_argument("--raw", action="store_true", help="also the whole program in one go, as long as that takes")
    parser.add_argument("--tight", action="store_true", help="desks with hardly a free socket, hubs on hubs and wishes")
    given = parser.parse_args(arguments)
    sizes = TIGHT if given.tight and sizes is SIZES else sizes
    sys.stdout.write(
        "desk: controllers/hubs/devices; over: budgets overdrawn before; greedy n+?: stuck after n moves\n"
    )
    sys.stdout.write(f"{HEADING}\n")
    for size in sizes:
        for number in range(1, given.desks + 1):
            sys.stdout.write(f"{row(size, number, given.seconds, given.raw, given.tight)}\n")
            sys.stdout.flush()


if __name__ == "__main__":
    main()
