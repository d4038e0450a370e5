"""Between the program and the budget engine: what an answer means on the desk, and how to forbid what the engine
finds overdrawn."""

from collections.abc import Iterable, Mapping, Sequence

from wizard.budget.entry import Entry
from wizard.budget.periodic import TIME_BUDGETS
from wizard.bus.tree import natural_key
from wizard.plan.arrange.desk import Desk, Plug
from wizard.plan.arrange.layout import Layout, as_it_is
from wizard.plan.arrange.meeting import fewest_meeting, meeting_at, owner_of
from wizard.plan.arrange.model import Model, Sum, loading


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
    """Forbid what overdraws an entry: the plugs that meet there, wherever else they might; or, where that is not
    a plain sum, exactly this way of plugging them."""
    desk = model.desk
    plugs = [desk.plugs[p] for p in fewest_meeting(meeting_at(desk, model.settings, entry, layout))]
    sums = _presence(model, entry, plugs, layout)
    if sums is None:
        sums = [_just_so(model, plug, arrangement) for plug in _with_hubs(desk, plugs, arrangement)]
    name = f"{entry.budget}@{layout.was(entry.where)}"
    model.program.row([term for one in sums for term in one], high=float(len(sums) - 1), name=name)


def _presence(model: Model, entry: Entry, plugs: list[Plug], layout: Layout) -> list[Sum] | None:
    """For bus time: one sum a plug that says whether it is there; None if a hub's own place matters too."""
    if entry.budget not in TIME_BUDGETS.values() or any(p.is_hub for p in plugs):
        return None
    base, slash, translator = entry.where.partition("/")
    if base.startswith("usb"):
        return None if slash else [loading(model, p, base) for p in plugs]
    hub = owner_of(model.desk, layout, base)
    if hub is None or translator != "tt":
        return None
    sums = [model.on(p, model.desk.plugs[hub].halves[0]) for p in plugs]
    return sums if all(sums) else None


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
