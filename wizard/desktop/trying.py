"""What-ifs on the strips: plugs moved about on trial, and the planner's moves one by one. Nothing real is touched.

Each state is a snapshot with its ledger, and the ids that things had when they were seen. Reckons with
`wizard.budget.what_if` (a few milliseconds a move) and the planner's own layouts; knows no Qt.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TYPE_CHECKING

from wizard.budget.entry import Entry
from wizard.budget.ledger import build_ledger
from wizard.budget.setup import Setup
from wizard.budget.what_if import Bench, Move
from wizard.bus.errors import BadInputError, CancelledError
from wizard.bus.model import Snapshot
from wizard.bus.tree import BusTree
from wizard.desktop.figures import FIGURES
from wizard.desktop.strip_bands import WORST_FIRST, Bands, bands_of
from wizard.desktop.strips import Hole, Picture, Plug, known_sockets, picture_of
from wizard.plan.arrange.accessories import accessories
from wizard.plan.arrange.desk import Desk, survey
from wizard.plan.arrange.layout import Layout, as_it_is
from wizard.plan.arrange.moves import PlugMove
from wizard.plan.arrange.purchases import BOX, SOCKETS, Helper, with_helper

if TYPE_CHECKING:  # a what-if needs no solver
    from wizard.plan.arrange.options import Option

TO_BUY = {"box": "In its box", "new-card": "New card, to buy", f"{BOX}-1": "New hub, to buy"}
"""What the planner's helpers are called, by the ids it gives them."""


@dataclass(frozen=True)
class State:
    """How everything is plugged at one moment. `was` tells the id that a device had when it was seen; `moved` are
    keys of plugs that are elsewhere than they were seen, each with the socket it came from."""

    snapshot: Snapshot
    ledger: tuple[Entry, ...]
    was: Mapping[str, str] = field(default_factory=dict)
    moved: Mapping[str, str | None] = field(default_factory=dict)

    @cached_property
    def picture(self) -> Picture:
        """The strips."""
        return picture_of(self.snapshot, self.was, TO_BUY)

    @cached_property
    def bands(self) -> Bands:
        """The ledger on the strips."""
        return bands_of(self.picture, self.ledger, self.snapshot)

    @cached_property
    def tree(self) -> BusTree:
        """Who hangs on whom."""
        return BusTree(self.snapshot)


def bench_for(snapshot: Snapshot, setup: Setup) -> Bench:
    """A bench on which every socket there is can be tried, those included that only a hub's number of ports tells
    of. Takes as long as a ledger does."""
    sockets = known_sockets(BusTree(snapshot))
    return Bench.of(snapshot.model_copy(update={"sockets": tuple(sockets.values())}), setup)


@dataclass(frozen=True)
class Trial:
    """Plugs moved about on trial, from a bench as it was seen."""

    bench: Bench
    state: State

    @classmethod
    def on(cls, bench: Bench) -> "Trial":
        """Nothing moved yet."""
        return cls(bench, State(bench.snapshot, bench.ledger))

    @classmethod
    def of(cls, snapshot: Snapshot, setup: Setup) -> "Trial":
        """Nothing moved yet, and all reckoned that showing it takes. Slow: as long as a ledger."""
        trial = cls.on(bench_for(snapshot, setup))
        assert trial.state.bands is not None  # it is kept from now on
        return trial

    def moved(self, plug: Plug, hole: Hole) -> "Trial":
        """The trial after one plug went into one socket. Raises BadInputError with the reason if it can't."""
        if hole.hold == "built_in":
            raise BadInputError(hole.id, "what is in there is built in", "Choose another socket.")
        start = self.state.picture
        origin = self.state.moved.get(plug.key, start.hole_of[plug.key])
        bench = self.bench.tried(Move(plug.id, hole.id))
        was = _followed(self.bench.tree, plug, hole, self.state.was)
        moved = {k: v for k, v in self.state.moved.items() if k != plug.key}
        if origin != hole.key:
            moved[plug.key] = origin
        return Trial(bench, State(bench.snapshot, bench.ledger, was, moved))


def seen_from(start: State, tried: State) -> Bands:
    """The ledger of a state on the strips as they were a move before: quicker than a picture of its own, and nothing
    jumps while a plug is only carried about."""
    ids = {key: identifier for identifier, key in start.was.items()}
    called = {identifier: ids.get(key, key) for identifier, key in tried.was.items()}
    return bands_of(start.picture, tried.ledger, start.snapshot, called)


def _followed(before: BusTree, plug: Plug, hole: Hole, was: Mapping[str, str]) -> dict[str, str]:
    """Which id each device had when it was seen, after one plug went elsewhere with all that hangs on it."""
    left = {h for half in plug.halves for h in (half, *(d.id for d in before.below(half)))}
    found = {new: old for new, old in was.items() if new not in left}
    for half in reversed(plug.halves):  # where both halves end as one, the name of the USB 2 half stays
        top = _half_for(before, half, hole)
        for device in (before.devices[half], *before.below(half)):
            found[top + device.id[len(half) :]] = was.get(device.id, device.id)
    return {new: old for new, old in found.items() if new != old}


def _half_for(tree: BusTree, device: str, hole: Hole) -> str:
    """The half of a socket that a device uses: its own side's where there is one."""
    wanted = tree.devices[device].is_super
    sides = {half: tree.devices[tree.sockets[half].hub].is_super for half in hole.halves}
    return next((half for half, fast in sides.items() if fast == wanted), hole.halves[0])


@dataclass(frozen=True)
class Stage:
    """One moment of an arrangement: the state, and what led to it: a move, or things that were put in place and need
    no plug moved (a supply, a cable); neither at the beginning."""

    state: State
    move: PlugMove | None = None
    bought: tuple[Helper, ...] = ()


def stages_of(bench: Bench, option: "Option", stop: Callable[[], bool] = lambda: False) -> tuple[Stage, ...]:
    """Every moment of the planner's arrangement, from the desk as it is on. A ledger is reckoned for each."""
    desk = survey(bench.snapshot, bench.setup)
    small = tuple(h for h in option.adds if h.kind not in SOCKETS)
    fed = {h.id: float(h.supply_ma) for h in option.adds if h not in small and h.supply_ma is not None}
    desk = replace(desk, setup=desk.setup.model_copy(update={"supplies_ma": {**desk.setup.supplies_ma, **fed}}))
    for helper in option.adds:
        desk = with_helper(desk, helper.kind)
    arrangement = as_it_is(desk)
    at_first = dict(arrangement)
    stages = [Stage(_settled(desk, arrangement, at_first))]
    if small:
        desk = survey(desk.snapshot, accessories(desk, bench.ledger)[1])
        stages.append(Stage(_settled(desk, arrangement, at_first), bought=small))
    for move in option.moves:
        if stop():
            raise CancelledError("The arrangement")
        arrangement = {p: at for p, at in arrangement.items() if p != move.device}
        if move.to is not None:
            arrangement[move.device] = move.to
        stages.append(Stage(_settled(desk, arrangement, at_first), move))
    return tuple(stages)


def _settled(desk: Desk, arrangement: Mapping[str, str], at_first: Mapping[str, str]) -> State:
    layout = Layout(desk, arrangement)
    ledger = build_ledger(layout.snapshot, layout.setup)
    moved = {plug: at_first.get(plug) for plug, at in arrangement.items() if at_first.get(plug) != at}
    was = {new: old for new, old in layout.old_id.items() if new != old}
    state = State(layout.snapshot, ledger, was, moved)
    return replace(state, snapshot=_named(state.snapshot, was))


def _named(snapshot: Snapshot, was: Mapping[str, str]) -> Snapshot:
    """What is to be bought has no name of its own yet."""
    devices = tuple(
        d.model_copy(update={"name": TO_BUY[was.get(d.id, d.id)]}) if was.get(d.id, d.id) in TO_BUY else d
        for d in snapshot.devices
    )
    return snapshot.model_copy(update={"devices": devices})


@dataclass(frozen=True)
class Difference:
    """One budget before and after; either may be missing where a place came or went."""

    before: Entry | None
    after: Entry | None

    @property
    def matters(self) -> bool:
        """Whether it is more than a budget with room that came, went, or still has room; figures never matter."""
        entries = [e for e in (self.before, self.after) if e is not None and e.budget not in FIGURES]
        return any(e.state != "room" for e in entries)


def differences(start: State, now: State) -> tuple[Difference, ...]:
    """The budgets that read otherwise now, the worst of either side first."""
    old, new = _by_place(start), _by_place(now)
    changed = {
        place: Difference(old.get(place), new.get(place))
        for place in dict.fromkeys((*old, *new))
        if _reading(old.get(place)) != _reading(new.get(place))
    }
    told = [
        d for (budget, where), d in changed.items() if budget != "periodic_time" or not _same_now(d, where, changed)
    ]
    return tuple(sorted(told, key=_weight))


def _same_now(at_most: Difference, where: str, changed: Mapping[tuple[str, str], Difference]) -> bool:
    """Whether bus time at most reads just as bus time now, so that one of them is enough."""
    now = changed.get(("periodic_time_active", where))
    return now is not None and all(
        _reading(one) == _reading(other) for one, other in ((at_most.before, now.before), (at_most.after, now.after))
    )


def _by_place(state: State) -> dict[tuple[str, str], Entry]:
    """Entries by budget and by the place as it was called when it was seen."""
    found: dict[tuple[str, str], Entry] = {}
    for entry in state.ledger:
        base, slash, rest = entry.where.partition("/")
        found[entry.budget, f"{state.was.get(base, base)}{slash}{rest}"] = entry
    return found


def _reading(entry: Entry | None) -> tuple[float | None, float | None, str] | None:
    return None if entry is None else (entry.used, entry.limit, entry.state)


def _weight(difference: Difference) -> tuple[int, bool]:
    """What is or was worst first, a change of state before a change of number."""
    states = [e.state for e in (difference.after, difference.before) if e is not None]
    return min(WORST_FIRST.index(s) for s in states), len(set(states)) == 1
