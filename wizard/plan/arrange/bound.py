"""How few plugs must be moved at the very least, wherever they might go.

Taking plugs away never raises a budget and putting them back elsewhere never lowers one. So whatever leaves every
overdrawn budget held, must at least take enough plugs out of each of them: a small program, with a variable for every
plug that leaves its socket. The budget engine says what is still overdrawn without them; that becomes a row more,
until it agrees. Knows nothing of where plugs go.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import combinations

from wizard.budget.entry import Entry
from wizard.budget.ledger import build_ledger
from wizard.budget.periodic import TIME_BUDGETS, Settings
from wizard.plan.arrange.clock import Clock
from wizard.plan.arrange.desk import Desk, Plug
from wizard.plan.arrange.held import must_hold
from wizard.plan.arrange.layout import Layout, as_it_is
from wizard.plan.arrange.meeting import Together, fewest_meeting, meeting_at
from wizard.plan.arrange.program import Program, Terms
from wizard.plan.arrange.solver import solve

MOST_ROUNDS = 60
"""Rounds between program and engine; what was found by then is a bound, if perhaps not the best."""

MOST_TRIED = 10
"""Plugs at one translator up to which every choice of those that leave is tried."""


@dataclass(frozen=True)
class Bound:
    """At least so many moves, and with as many moves at least so many that the system forgets. `leaving` is the
    cheapest choice of plugs that no budget rules out; None if even with every plug moved away something is
    overdrawn. `met` are all that meet at a budget that is overdrawn."""

    moves: int
    forgets: int
    leaving: tuple[str, ...] | None
    met: frozenset[str]


@dataclass
class _Leaving:
    """The program: a variable for every plug that may leave, and rows for what must."""

    desk: Desk
    settings: Settings
    leave: dict[str, int] = field(default_factory=dict)
    met: set[str] = field(default_factory=set)
    program: Program = field(default_factory=Program)

    def must(self, entry: Entry, layout: Layout) -> None:
        """Enough of what meets at an overdrawn entry has to go."""
        together = meeting_at(self.desk, self.settings, entry, layout)
        self.met.update(together.weights)
        gone = {plug: self._gone(plug, entry, layout) for plug in together.weights}
        excess = together.excess
        if excess > 0:
            self.program.row(_weighted(gone, together.weights), low=excess)
        count = max(_least_count(together.weights, gone, excess), _tried(together, gone))
        self._at_least(gone.values(), count)
        fewest = fewest_meeting(together)
        if len(fewest) < len(gone) or not count:
            self._at_least([gone[plug] for plug in fewest], 1)

    def apart(self, one: str, other: str) -> None:
        """One of the two has to go."""
        self.met.update((one, other))
        self._at_least([[(self.leave[p], 1.0)] if p in self.leave else [] for p in (one, other)], 1)

    def _at_least(self, sums: Iterable[Terms], count: int) -> None:
        if count > 0:
            self.program.row([term for terms in sums for term in terms], low=float(count))

    def _gone(self, plug: str, entry: Entry, layout: Layout) -> list[tuple[int, float]]:
        """One if a plug no longer burdens an entry: it leaves, or a hub on the way there takes it along."""
        hitters = [self.leave[p] for p in _way(self.desk, plug, entry, layout) if p in self.leave]
        if len(hitters) <= 1:
            return [(v, 1.0) for v in hitters]
        gone = self.program.variable(whole=False)
        self.program.row([(gone, 1.0), *((v, -1.0) for v in hitters)], high=0.0)
        return [(gone, 1.0)]


def least_to_move(desk: Desk, settings: Settings, plugs: Sequence[Plug], clock: Clock) -> Bound:
    """The bound for a desk of which these plugs may be moved. Stops early, with less, when time is up."""
    made = _Leaving(desk, settings)
    costs: dict[int, float] = {}
    for plug in plugs:
        made.leave[plug.id] = made.program.variable()
        costs[made.leave[plug.id]] = len(plugs) + 1.0 + (not plug.numbered)
    layout = Layout(desk, as_it_is(desk))
    over = _overdrawn(layout, settings)
    for one, other in at_odds(desk):
        made.apart(one, other)
    best = Bound(0, 0, (), frozenset())
    for _ in range(MOST_ROUNDS):
        for entry in over:
            made.must(entry, layout)
        if clock.over:
            break
        answer = solve(made.program, costs, clock.left(), clock.stop)
        if answer.status == "infeasible":
            return Bound(0, 0, None, frozenset(made.met))
        if answer.status != "optimal":
            break
        moves, forgets = divmod(round(answer.cost), len(plugs) + 1)
        leaving = tuple(p for p, v in made.leave.items() if answer.values[v] > 0.5)
        best = Bound(moves, forgets, leaving, frozenset(made.met))
        stays = {plug: at for plug, at in as_it_is(desk).items() if plug not in leaving}
        layout = Layout(desk, stays)
        over = _overdrawn(layout, settings)
        if not over:
            break
    return best


def _overdrawn(layout: Layout, settings: Settings) -> list[Entry]:
    ledger = build_ledger(layout.snapshot, layout.setup)
    return [e for e in ledger if e.state == "over" and must_hold(e, settings)]


def at_odds(desk: Desk) -> Iterable[tuple[str, str]]:
    """Pairs of plugs that stand as they should not."""
    for pairs, together in ((desk.setup.apart, False), (desk.setup.together, True)):
        for pair in pairs:
            one, other = (desk.plugs.get(desk.plug_of.get(device, "")) for device in pair)
            if one is None or other is None:
                continue
            if (desk.places[one.at].strip == desk.places[other.at].strip) is not together:
                yield one.id, other.id


def _way(desk: Desk, plug: str, entry: Entry, layout: Layout) -> Iterable[str]:
    """A plug and the hubs above it that would take its burden away from an entry. A translator moves with its hub,
    and so does a supply of its own."""
    base, slash, _ = entry.where.partition("/")
    owner = desk.plug_of.get(layout.old_id.get(base, base))
    stays = (entry.budget in TIME_BUDGETS.values() and slash) or (entry.budget == "hub_supply" and _own(desk, owner))
    at: str | None = plug
    seen: set[str] = set()
    while at is not None and at not in seen and not (stays and at == owner):
        seen.add(at)
        yield at
        at = desk.hub_plug(desk.places[desk.plugs[at].at])


def _own(desk: Desk, hub: str | None) -> bool:
    return hub is not None and (hub in desk.setup.supplies_ma or desk.tree.devices[hub].self_powered is True)


def _weighted(gone: Mapping[str, Terms], weights: Mapping[str, float]) -> Terms:
    return [(v, f * weights[plug]) for plug, terms in gone.items() for v, f in terms]


def _least_count(weights: Mapping[str, float], gone: Mapping[str, Sequence[tuple[int, float]]], excess: float) -> int:
    """How many of the heaviest it takes."""
    count = 0
    for weight in sorted((w for plug, w in weights.items() if gone[plug]), reverse=True):
        if excess <= 1e-9:
            break
        excess -= weight
        count += 1
    return count


def _tried(together: Together, gone: Mapping[str, Sequence[tuple[int, float]]]) -> int:
    """The same by trying every choice, where they are few: the worst frame can be worse than the mean."""
    plugs = [plug for plug in together.weights if gone[plug]]
    if together.loads is None or len(plugs) > MOST_TRIED:
        return 0
    everything = list(together.weights)
    for count in range(len(plugs) + 1):
        for left in combinations(plugs, count):
            if together.holds([p for p in everything if p not in left]):
                return count
    return 0
