"""From a desk to an arrangement that the budget engine itself finds sound, and what is proven of it.

The aims come one after the other: fewest plugs moved, then fewest of those that the system will forget, then the most
room at the tightest budget, by mean bus time. The first two are proven: by a bound that holds wherever plugs may go,
where an arrangement reaches it; else by ruling every better one out, hubs moved too, while time lasts.
"""

from collections.abc import Callable

from wizard.budget.periodic import Settings
from wizard.plan.arrange.bound import Bound, least_to_move
from wizard.plan.arrange.clock import Clock
from wizard.plan.arrange.desk import Desk
from wizard.plan.arrange.pursuit import Blocked, Found, OutOfTime, Pursuit

Outcome = Found | Blocked | OutOfTime


def search(desk: Desk, settings: Settings, clock: Clock, helper: str | None = None) -> Outcome:
    """The best arrangement of a desk, or why there is none. `helper` is a new plug that must be used; putting it in
    counts as no move.

    First only what the bound says must leave is moved, then all but hubs, then hubs as well; what reaches the bound
    ends the search.
    """
    plugs = [p for p in desk.movable if p.id != helper]
    bound = least_to_move(desk, settings, plugs, clock)

    def pursuit(movers: frozenset[str]) -> Pursuit:
        return Pursuit(desk, settings, clock, movers, bound, helper)

    if bound.leaving is not None:
        narrow = pursuit(frozenset(bound.leaving)).run()
        if isinstance(narrow, Found):
            return _roomiest(pursuit, desk, bound, narrow)
    light = frozenset(p.id for p in plugs if not p.is_hub)
    wide = pursuit(light).run()
    if len(light) == len(plugs) or isinstance(wide, OutOfTime):
        return wide
    whole = pursuit(frozenset(p.id for p in plugs))
    return whole.run() if isinstance(wide, Blocked) else wide if _reaches(wide, bound, desk) else whole.improve(wide)


def _roomiest(pursuit: Callable[[frozenset[str]], Pursuit], desk: Desk, bound: Bound, found: Found) -> Found:
    """Others of those that meet at an overdrawn budget may leave as well, and in their stead leave more room."""
    if not found.moved:
        return found
    met = {p for p in bound.met if desk.plugs[p].movable and not desk.plugs[p].is_hub}
    return pursuit(frozenset(met.union(found.moved))).roomiest(found)


def _reaches(found: Found, bound: Bound, desk: Desk) -> bool:
    forgets = sum(1 for p in found.moved if not desk.plugs[p].numbered)
    return (len(found.moved), forgets) == (bound.moves, bound.forgets)
