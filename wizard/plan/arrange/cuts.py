"""Between the program and the budget engine: what an answer means on the desk, and how to forbid what the engine
finds overdrawn."""

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import partial

from wizard.budget.entry import Entry
from wizard.budget.periodic import TIME_BUDGETS, has_microframes
from wizard.bus.model import Device
from wizard.bus.tree import BusTree, natural_key
from wizard.plan.arrange.desk import Desk, Plug
from wizard.plan.arrange.layout import Layout, as_it_is
from wizard.plan.arrange.meeting import fewest_meeting, meeting_at, owner_of
from wizard.plan.arrange.model import Model, Sum, loading

Target = tuple[str, Callable[[Plug], Sum]]


def read_places(model: Model, values: Sequence[float]) -> dict[str, str]:
    """Concrete places for an answer: what stays stays; the others take the places of their shelf in order, those
    that were free all along before those that must be cleared first."""
    desk = model.desk
    arrangement = as_it_is(desk)
    was_taken = set(arrangement.values())
    leaving = [p for p in desk.movable if values[model.stay[p.id]] < 0.5]
    gone = {p.id for p in leaving}
    taken = {at for plug, at in arrangement.items() if plug not in gone}
    for plug in leaving:
        shelf = next(
            shelf
            for number, shelf in enumerate(model.shelves)
            if (variable := model.put.get((plug.id, number))) is not None and values[variable] > 0.5
        )
        free = [p.id for p in shelf.places if p.id not in taken]
        chosen = min(free, key=lambda place: (place in was_taken, natural_key(place)))
        arrangement[plug.id] = chosen
        taken.add(chosen)
    return arrangement


def forbid(model: Model, entry: Entry, layout: Layout, arrangement: Mapping[str, str]) -> None:
    """Forbid what overdraws an entry: as many plugs of such kinds, wherever the same budget is found; or, where that is
    not a plain sum, exactly this way of plugging them."""
    desk = model.desk
    plugs = [desk.plugs[p] for p in fewest_meeting(meeting_at(desk, model.settings, entry, layout))]
    targets = _targets(model, entry, plugs, layout)
    for where, present in targets:
        _not_together(model, f"{entry.budget}@{where}", plugs, present)
    if not targets:
        sums = [_just_so(model, plug, arrangement) for plug in _with_hubs(desk, plugs, arrangement)]
        name = f"{entry.budget}@{layout.was(entry.where)}"
        model.program.row([term for one in sums for term in one], high=float(len(sums) - 1), name=name)


def _targets(model: Model, entry: Entry, plugs: list[Plug], layout: Layout) -> list[Target]:
    """For bus time: the places where these plugs would overdraw as much, each with what says whether a plug is there;
    none if a hub's own place matters too."""
    base, slash, translator = entry.where.partition("/")
    if entry.budget not in TIME_BUDGETS.values() or any(p.is_hub for p in plugs):
        return []
    tree = model.desk.tree
    if base.startswith("usb"):
        alike = [r for r in model.roots if _kind(tree, r) == _kind(tree, tree.devices[base])]
        return [] if slash else [(r.id, partial(loading, model, root=r.id)) for r in alike]
    hub = owner_of(model.desk, layout, base)
    if hub is None or translator != "tt":
        return []
    at = model.desk.plugs[hub].halves[0]
    return [(f"{hub}/tt", partial(model.on, hub=at))]


def _kind(tree: BusTree, root: Device) -> tuple[str | None, bool]:
    """Root hubs of one kind carry the same plugs equally."""
    controller = tree.controllers.get(root.parent or "")
    return (controller.kind if controller is not None else None, has_microframes(root))


def _not_together(model: Model, name: str, plugs: list[Plug], present: Callable[[Plug], Sum]) -> None:
    """Not as many of every kind at once: of one kind at least there must be fewer, whichever of them they are."""
    wanted = Counter(model.desk.likeness(plug) for plug in plugs)
    fewer: Sum = []
    for kind, count in wanted.items():
        there = [term for p in model.desk.alike[kind] for term in present(p)]
        most = float(len(model.desk.alike[kind]))
        if len(wanted) == 1:
            model.program.row(there, high=count - 1.0, name=name)
            return
        less = model.program.variable()
        fewer.append((less, 1.0))
        # With `less` at most count - 1 are there, without it as many as there are.
        model.program.row([*there, (less, most - count + 1.0)], high=most, name=name)
    model.program.row(fewer, low=1.0, name=name)


def _with_hubs(desk: Desk, plugs: Iterable[Plug], arrangement: Mapping[str, str]) -> list[Plug]:
    """The plugs and every hub on their way up."""
    found: dict[str, Plug] = {}
    for plug in plugs:
        at: str | None = plug.id
        while at is not None and at not in found:
            found[at] = desk.plugs[at]
            at = desk.hub_plug(desk.places[arrangement[at]])
    return list(found.values())


def _just_so(model: Model, plug: Plug, arrangement: Mapping[str, str]) -> Sum:
    """One if a plug is on the shelf where it is put now."""
    if arrangement[plug.id] == plug.at:
        return [(model.stay[plug.id], 1.0)]
    number = next(n for n, s in enumerate(model.shelves) if any(p.id == arrangement[plug.id] for p in s.places))
    return [(model.put[plug.id, number], 1.0)]
