"""From the program to an arrangement that the budget engine itself finds sound: solve, reckon, cut, repeat.

The aims come one after the other: fewest plugs moved, then fewest of those that the system will forget, and
among the arrangements that leave the hubs alone the most room at the tightest budget, by mean bus time. The
first two are proven, over hubs moved too, while time lasts.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from math import ceil

from wizard.budget.entry import Entry
from wizard.budget.ledger import build_ledger
from wizard.budget.periodic import TIME_BUDGETS, Settings
from wizard.plan.arrange.clash import clashing
from wizard.plan.arrange.cuts import forbid, read_places
from wizard.plan.arrange.desk import Desk
from wizard.plan.arrange.layout import Layout
from wizard.plan.arrange.model import Model, build
from wizard.plan.arrange.solver import Answer, solve

HELD = frozenset(["port_current", "hub_supply", "group_current", "link_rate", "endpoints", "slots", "hub_depth"])
"""Budgets that an arrangement must hold, beside bus time for the settings asked for."""


@dataclass(frozen=True)
class Clock:
    """How a search knows when to end: `left` gives the seconds it still has, `stop` whether it is called off."""

    left: Callable[[], float]
    stop: Callable[[], bool] = lambda: False


@dataclass(frozen=True)
class Found:
    """A sound arrangement. `proven` is true if no other moves fewer plugs, or as many that the system forgets less;
    `at_least` is the smallest number of moves that could not be ruled out."""

    arrangement: Mapping[str, str]
    layout: Layout
    ledger: tuple[Entry, ...]
    moved: tuple[str, ...]
    settings: Settings
    proven: bool
    at_least: int


@dataclass(frozen=True)
class Blocked:
    """No arrangement holds all budgets; `names` are the fewest found that can't be held together, as `budget@place`
    (`sockets@hub`: there are not enough of them)."""

    names: tuple[str, ...]


@dataclass(frozen=True)
class OutOfTime:
    """Time ran out, or the user called it off, before any sound arrangement was found."""


def search(desk: Desk, settings: Settings, clock: Clock, helper: str | None = None) -> Found | Blocked | OutOfTime:
    """The best arrangement of a desk, or why there is none. `helper` is a new plug that must be used; putting it in
    counts as no move.

    First with every hub left where it is, which is quick; then it is proven that moving hubs gives nothing
    better, or that better way is taken.
    """
    first = _Search(desk, settings, clock, False, helper).run()
    if not any(p.is_hub and p.id != helper for p in desk.movable) or (
        isinstance(first, Found) and len(first.moved) == 0
    ):
        return first
    whole = _Search(desk, settings, clock, True, helper)
    if isinstance(first, Found):
        return whole.improve(first)
    return whole.run() if not isinstance(first, OutOfTime) else first


@dataclass(frozen=True)
class _Sound:
    arrangement: Mapping[str, str]
    layout: Layout
    ledger: tuple[Entry, ...]
    moved: tuple[str, ...]
    proven: bool
    bound: float


class _Search:
    def __init__(self, desk: Desk, settings: Settings, clock: Clock, hubs_move: bool, helper: str | None) -> None:
        self.desk = desk
        self.settings = settings
        self.clock = clock
        self.model: Model = build(desk, settings, hubs_move, helper)
        self.movable = [p for p in desk.movable if self.model.may_move(p) and p.id != helper]
        self.summed = {
            row.name for row in self.model.program.rows if row.name.partition("@")[0] in (*HELD, "periodic_time")
        }

    def run(self) -> Found | Blocked | OutOfTime:
        """The best by all aims, from nothing."""
        best = self._minimise(self._moves())
        if not isinstance(best, _Sound):
            return best
        moves, proven = len(best.moved), best.proven
        at_least = max(0, min(moves, ceil(best.bound + len(self.movable) - 1e-6))) if not proven else moves
        if proven and moves:
            self._hold(self._moves(), moves - len(self.movable))
            best = self._next(best, self._forgotten())
        if best.proven and moves:
            self._hold(self._forgotten(), self._forgets(best) - self._numberless())
            best = self._next(best, self._headroom())
        return self._found(best, at_least)

    def improve(self, known: Found) -> Found:
        """Something better than a known arrangement; itself, with what is proven of it, if there is nothing."""
        least = len(self.movable) + 1
        costs = {v: least * c for v, c in self._moves().items()}
        for variable, cost in self._forgotten().items():
            costs[variable] += cost
        worth = least * len(known.moved) + sum(1 for p in known.moved if not self.desk.plugs[p].numbered)
        if worth == least:
            return known  # one plug that the system knows again: no arrangement that moves anything costs less
        self._hold(costs, worth - 1 - least * len(self.movable) - self._numberless())
        better = self._minimise(costs, why_not=False)
        if isinstance(better, _Sound):
            return self._found(better, len(better.moved) if better.proven else 1)
        proven = known.proven and isinstance(better, Blocked)
        return replace(known, proven=proven, at_least=known.at_least if proven else min(known.at_least, 1))

    def _found(self, best: _Sound, at_least: int) -> Found:
        return Found(best.arrangement, best.layout, best.ledger, best.moved, self.settings, best.proven, at_least)

    def _next(self, best: _Sound, costs: Mapping[int, float]) -> _Sound:
        """The best by one more aim; the one before, unproven, if time runs out."""
        better = self._minimise(costs, why_not=False)
        return better if isinstance(better, _Sound) else replace(best, proven=False)

    # --- aims: every cost counts what stays, so that nothing moved costs least ------------------------------------

    def _moves(self) -> dict[int, float]:
        return {self.model.stay[p.id]: -1.0 for p in self.movable}

    def _forgotten(self) -> dict[int, float]:
        """Plugs without a serial number are new to a system on another socket."""
        return {self.model.stay[p.id]: -1.0 for p in self.movable if not p.numbered}

    def _numberless(self) -> int:
        return sum(1 for p in self.movable if not p.numbered)

    def _forgets(self, found: _Sound) -> int:
        return sum(1 for p in found.moved if not self.desk.plugs[p].numbered)

    def _hold(self, costs: Mapping[int, float], most: float) -> None:
        """From now on these costs must not exceed `most`."""
        self.model.program.row(costs.items(), high=most)

    def _headroom(self) -> dict[int, float]:
        """The smallest share of any budget that stays free, by mean bus time."""
        room = self.model.program.variable(whole=False)
        for row in list(self.model.program.rows):
            if row.name in self.summed and row.high > 0 and row.terms:
                self.model.program.row([*row.terms, (room, row.high)], high=row.high)
        return {room: -1.0}

    # --- solve, reckon, cut -----------------------------------------------------------------------------------

    def _minimise(self, costs: Mapping[int, float], why_not: bool = True) -> _Sound | Blocked | OutOfTime:
        """Solve until the engine agrees. `why_not`: say which budgets clash where nothing is possible."""
        while True:
            left = self.clock.left()
            answer = solve(self.model.program, costs, left, self.clock.stop) if left > 0 else Answer("stopped")
            if answer.status == "infeasible":
                return Blocked(clashing(self.model.program, self.clock.left, self.clock.stop) if why_not else ())
            if not answer.values:
                return OutOfTime()
            arrangement = read_places(self.model, answer.values)
            layout = Layout(self.desk, arrangement)
            ledger = build_ledger(layout.snapshot, layout.setup)
            over = [e for e in ledger if e.state == "over" and self._must_hold(e)]
            if not over:
                moved = tuple(p.id for p in self.movable if arrangement[p.id] != p.at)
                return _Sound(arrangement, layout, ledger, moved, answer.status == "optimal", answer.bound)
            for entry in over:
                forbid(self.model, entry, layout, arrangement)

    def _must_hold(self, entry: Entry) -> bool:
        return entry.budget in HELD or entry.budget == TIME_BUDGETS[self.settings]
