"""One pursuit of the best arrangement, with these plugs moved and no others: solve, reckon, cut, repeat."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from math import ceil, inf

from wizard.budget.entry import Entry
from wizard.budget.ledger import build_ledger
from wizard.budget.periodic import Settings
from wizard.plan.arrange.bound import Bound
from wizard.plan.arrange.clash import clashing
from wizard.plan.arrange.clock import Clock
from wizard.plan.arrange.cuts import forbid, read_places
from wizard.plan.arrange.desk import Desk
from wizard.plan.arrange.held import HELD, must_hold
from wizard.plan.arrange.layout import Layout
from wizard.plan.arrange.model import Model, build
from wizard.plan.arrange.solver import Answer, solve


@dataclass(frozen=True)
class Found:
    """A sound arrangement. `proven` is true if no other moves fewer plugs, or as many that the system forgets less;
    `at_least` is the smallest number of moves that could not be ruled out; `leaving` how many plugs must leave their
    places whatever else there is to plug them into."""

    arrangement: Mapping[str, str]
    layout: Layout
    ledger: tuple[Entry, ...]
    moved: tuple[str, ...]
    settings: Settings
    proven: bool
    at_least: int
    leaving: int


@dataclass(frozen=True)
class Blocked:
    """No arrangement holds all budgets; `names` are the fewest found that can't be held together, as `budget@place`
    (`sockets@hub`: there are not enough of them)."""

    names: tuple[str, ...]


@dataclass(frozen=True)
class OutOfTime:
    """Time ran out, or the user called it off, before any sound arrangement was found."""


@dataclass(frozen=True)
class _Sound:
    arrangement: Mapping[str, str]
    layout: Layout
    ledger: tuple[Entry, ...]
    moved: tuple[str, ...]
    proven: bool
    bound: float


NEAR = 0.01
"""Part of a budget that counts as no difference in room; mean bus time is no better known than that."""


class Pursuit:
    """A program, the aims that are followed in it, and the engine that has the last word."""

    def __init__(
        self, desk: Desk, settings: Settings, clock: Clock, movers: frozenset[str], bound: Bound, helper: str | None
    ) -> None:
        self.desk = desk
        self.settings = settings
        self.clock = clock
        self.bound = bound
        self.model: Model = build(desk, settings, movers, helper)
        self.movable = [p for p in desk.movable if p.id in movers and p.id != helper]
        self._bound_row: int | None = len(self.model.program.rows)
        self._hold(self._moves(), inf, at_least=bound.moves - len(self.movable))
        self.summed = {
            row.name for row in self.model.program.rows if row.name.partition("@")[0] in (*HELD, "periodic_time")
        }

    def run(self) -> Found | Blocked | OutOfTime:
        """The best by the first two aims, from nothing."""
        best = self._minimise(self._moves())
        if not isinstance(best, _Sound):
            return best
        moves, proven = len(best.moved), best.proven
        at_least = moves if proven else max(self.bound.moves, min(moves, ceil(best.bound + len(self.movable) - 1e-6)))
        if proven and moves and self._numberless_of(best.moved) > self._forgets_at_least(best):
            self._hold(self._moves(), moves - len(self.movable))
            best = self._next(best, self._forgotten())
        return self._found(best, at_least)

    def roomiest(self, known: Found) -> Found:
        """Of the arrangements that cost no more than a known one, the one with the most room."""
        self._hold(self._moves(), len(known.moved) - len(self.movable))
        self._hold(self._forgotten(), self._numberless_of(known.moved) - self._numberless())
        better = self._minimise(self._headroom(), why_not=False, gap=NEAR)
        if isinstance(better, _Sound):
            return self._found(better, known.at_least)
        return replace(known, proven=False)

    def improve(self, known: Found) -> Found:
        """Something better than a known arrangement; itself, with what is proven of it, if there is nothing."""
        least = len(self.movable) + 1
        costs = {v: least * c for v, c in self._moves().items()}
        for variable, cost in self._forgotten().items():
            costs[variable] += cost
        worth = least * len(known.moved) + self._numberless_of(known.moved)
        self._hold(costs, worth - 1 - least * len(self.movable) - self._numberless())
        better = self._minimise(costs, why_not=False)
        if isinstance(better, _Sound):
            return self._found(better, len(better.moved) if better.proven else self.bound.moves)
        proven = known.proven and isinstance(better, Blocked)
        return replace(known, proven=proven, at_least=known.at_least if proven else self.bound.moves)

    def _found(self, best: _Sound, at_least: int) -> Found:
        return Found(
            best.arrangement,
            best.layout,
            best.ledger,
            best.moved,
            self.settings,
            best.proven,
            at_least,
            self.bound.moves,
        )

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

    def _numberless_of(self, moved: Iterable[str]) -> int:
        return sum(1 for p in moved if not self.desk.plugs[p].numbered)

    def _forgets_at_least(self, best: _Sound) -> int:
        return self.bound.forgets if len(best.moved) == self.bound.moves else 0

    def _hold(self, costs: Mapping[int, float], most: float, at_least: float = float("-inf")) -> None:
        """From now on these costs lie between."""
        self.model.program.row(costs.items(), at_least, most)

    def _forget_bound(self) -> None:
        if self._bound_row is not None:
            del self.model.program.rows[self._bound_row]
        self._bound_row = None

    def _headroom(self) -> dict[int, float]:
        """The smallest share of any budget that stays free, by mean bus time."""
        room = self.model.program.variable(whole=False)
        for row in list(self.model.program.rows):
            if row.name in self.summed and 0 < row.high < inf and row.terms:
                self.model.program.row([*row.terms, (room, row.high)], high=row.high)
        return {room: -1.0} | dict.fromkeys(self._hubs_on_hubs(), NEAR)

    def _hubs_on_hubs(self) -> Iterator[int]:
        """Among equals a hub goes straight into the PC."""
        for (plug, shelf), variable in self.model.put.items():
            if self.desk.plugs[plug].is_hub and not self.model.shelves[shelf].first.on_root:
                yield variable

    # --- solve, reckon, cut -----------------------------------------------------------------------------------

    def _minimise(
        self, costs: Mapping[int, float], why_not: bool = True, gap: float = 0.0
    ) -> _Sound | Blocked | OutOfTime:
        """Solve until the engine agrees. `why_not`: say which budgets clash where nothing is possible."""
        while True:
            left = self.clock.left()
            answer = solve(self.model.program, costs, left, self.clock.stop, gap) if left > 0 else Answer("stopped")
            if answer.status == "infeasible" and why_not and self._bound_row is not None:
                self._forget_bound()  # why nothing fits is for the budgets to say
                continue
            if answer.status == "infeasible":
                return Blocked(clashing(self.model.program, self.clock.left, self.clock.stop) if why_not else ())
            if not answer.values:
                return OutOfTime()
            arrangement = read_places(self.model, answer.values)
            layout = Layout(self.desk, arrangement)
            ledger = build_ledger(layout.snapshot, layout.setup)
            over = [e for e in ledger if e.state == "over" and must_hold(e, self.settings)]
            if not over:
                moved = tuple(p.id for p in self.movable if arrangement[p.id] != p.at)
                return _Sound(arrangement, layout, ledger, moved, answer.status == "optimal", answer.bound)
            for entry in over:
                forbid(self.model, entry, layout, arrangement)
