"""Who meets at a budget, how much each of them takes there, and the fewest of them that still overdraw it."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from wizard.budget.entry import Entry
from wizard.budget.periodic import TIME_BUDGETS, Settings, loads_at
from wizard.budget.schedule import Load, schedule
from wizard.bus.tree import BusTree, natural_key
from wizard.plan.arrange.desk import Desk
from wizard.plan.arrange.layout import Layout


@dataclass(frozen=True)
class Together:
    """The plugs at one entry, in natural order. `weights`: what each takes at least (of bus time the mean per slot);
    `fixed` is what belongs to no plug; `loads` of bus time, by plug, None for what merely adds up."""

    weights: Mapping[str, float]
    fixed: float
    limit: float
    loads: Mapping[str | None, Sequence[Load]] | None

    @property
    def excess(self) -> float:
        """What has to go at least."""
        return sum(self.weights.values()) + self.fixed - self.limit

    def holds(self, plugs: Collection[str]) -> bool:
        """Whether these, and what belongs to no plug, do not overdraw it."""
        if self.loads is None:
            return sum(self.weights[p] for p in plugs) + self.fixed <= self.limit
        there = [load for plug in (None, *plugs) for load in self.loads.get(plug, ())]
        return schedule(there).worst_ns / 1000 <= self.limit


def owner_of(desk: Desk, layout: Layout, device: str) -> str | None:
    """The plug of a device of a layout; None for a root hub."""
    return desk.plug_of.get(layout.old_id.get(device, device))


def meeting_at(desk: Desk, settings: Settings, entry: Entry, layout: Layout) -> Together:
    """Who meets at an overdrawn entry of a layout's ledger."""
    limit = entry.limit if entry.limit is not None else (entry.bracket or (0.0, 0.0))[1]
    weights: dict[str | None, float] = {}
    loads: dict[str | None, list[Load]] | None = None
    if entry.budget in TIME_BUDGETS.values():
        loads = {}
        for load in loads_at(BusTree(layout.snapshot), entry.where, settings):
            owner = owner_of(desk, layout, load.who)
            loads.setdefault(owner, []).append(load)
            weights[owner] = weights.get(owner, 0.0) + sum(load.pieces) / load.period / 1000
    else:
        for part in entry.parts:
            owner = owner_of(desk, layout, part.who)
            weights[owner] = weights.get(owner, 0.0) + part.used
    fixed = weights.pop(None, 0.0)
    named = {plug: weight for plug, weight in weights.items() if plug is not None}
    return Together({p: named[p] for p in sorted(named, key=natural_key)}, fixed, limit, loads)


def fewest_meeting(together: Together) -> list[str]:
    """Plugs of which none can be left out for the entry to be overdrawn still: the light ones are left out first.
    Of what merely adds up all count, since parts may take over what others leave."""
    needed = list(together.weights)
    if together.loads is None:
        return needed
    for plug in sorted(needed, key=lambda p: (together.weights[p], natural_key(p))):
        without = [p for p in needed if p != plug]
        if not together.holds(without):
            needed = without
    return needed
