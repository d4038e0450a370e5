"""The arrangement as a linear program: one row for every budget that adds up, one variable for every choice.

Bus time enters with its mean, which is never more than its worst slot; what that lets through is cut off
later, by the budget engine's own reckoning. What two hubs in series do together is left to the engine too.
"""

from dataclasses import dataclass, field
from functools import cached_property

from wizard.budget.endpoints import endpoint_limit, slot_limit
from wizard.budget.limits import (
    FRAME_US,
    FULL_LOAD_MA,
    FULL_LOAD_SUPER_MA,
    HUBS_IN_SERIES,
    MICROFRAME_US,
    TRANSLATOR_US,
)
from wizard.budget.periodic import Settings, has_microframes
from wizard.budget.power import allowance, own_draw
from wizard.bus.model import ControllerKind, Device
from wizard.bus.tree import natural_key
from wizard.plan.arrange.desk import Desk, Place, Plug
from wizard.plan.arrange.loads import Asks, asks
from wizard.plan.arrange.program import Program

Sum = list[tuple[int, float]]


@dataclass(frozen=True)
class Shelf:
    """Places that are all alike for a planner: same hub, same side, same wires, same feed."""

    key: tuple[str, bool, str | None, str | None]
    places: tuple[Place, ...]

    @property
    def first(self) -> Place:
        """Any of them."""
        return self.places[0]


@dataclass
class Model:
    """The program and what its variables mean: `stay` by plug, `put` by plug and shelf, `under` by hub and root."""

    desk: Desk
    settings: Settings
    movers: frozenset[str]
    helper: str | None = None
    program: Program = field(default_factory=Program)
    shelves: list[Shelf] = field(default_factory=list)
    stay: dict[str, int] = field(default_factory=dict)
    put: dict[tuple[str, int], int] = field(default_factory=dict)
    _on: dict[tuple[str, str], Sum] = field(default_factory=dict)
    _under: dict[tuple[str, str], int] = field(default_factory=dict)
    _both: dict[tuple[str, str, str], int] = field(default_factory=dict)
    _asks: dict[tuple[str, ControllerKind], Asks] = field(default_factory=dict)

    # --- sums that say where something is ---------------------------------------------------------------------

    def on(self, plug: Plug, hub: str) -> Sum:
        """One if a plug is on a socket of a hub (by the id of its places), else nothing."""
        return [*self._on.get((plug.id, hub), ())]

    def chosen(self) -> None:
        """Called once all choices have their variables."""
        for (plug, shelf), variable in self.put.items():
            self._on.setdefault((plug, self.shelves[shelf].key[0]), []).append((variable, 1.0))
        for plug, variable in self.stay.items():
            here = self.desk.places[self.desk.plugs[plug].at].hub
            self._on.setdefault((plug, here), []).append((variable, 1.0))

    def inside(self, plug: Plug, root: str) -> Sum:
        """One if a plug hangs somewhere below a root hub."""
        found = self.on(plug, root)
        for hub in self.hubs:
            placed = self.on(plug, hub.id) if hub.id != plug.id else []
            if placed:
                found.extend(self._and(plug, hub, placed, root))
        return found

    def _and(self, plug: Plug, hub: Plug, placed: Sum, root: str) -> Sum:
        """One if a plug is on a hub and that hub is below a root."""
        if not self._can_change_root(hub):
            return placed if self._root_now(hub) == root else []
        key = (plug.id, hub.id, root)
        if key not in self._both:
            parts = {}
            for other in self.roots:
                parts[other.id] = self._both[plug.id, hub.id, other.id] = self.program.variable(whole=False)
                self.program.row([(parts[other.id], 1.0), *((v, -f) for v, f in self.under(hub, other.id))], high=0.0)
            self.program.row([*((v, 1.0) for v in parts.values()), *((v, -f) for v, f in placed)], 0.0, 0.0)
        return [(self._both[key], 1.0)]

    def under(self, hub: Plug, root: str) -> Sum:
        """One if a hub hangs below a root hub."""
        if not self._can_change_root(hub):
            return [(self.stay[hub.id], 1.0)] if self._root_now(hub) == root else []
        return [(self._under[hub.id, root], 1.0)]

    def trees(self) -> None:
        """Called once all choices are known: which hub hangs below which root hub, and no ring of hubs."""
        moving = [hub for hub in self.hubs if self._can_change_root(hub)]
        for hub in moving:
            for root in self.roots:
                self._under[hub.id, root.id] = self.program.variable(whole=False)
        for hub in moving:
            for root in self.roots:
                below = self.inside(hub, root.id)
                self.program.row([(self._under[hub.id, root.id], 1.0), *((v, -f) for v, f in below)], 0.0, 0.0)
        if moving:
            self._levels()

    def _levels(self) -> None:
        """A hub on a hub is one level further down, and there are as many levels as hubs may hang in series."""
        level = {hub.id: self.program.variable(whole=False) for hub in self.hubs}
        step = 1 / (HUBS_IN_SERIES.value - 1)
        for hub in self.hubs:
            for above in self.hubs:
                placed = self.on(hub, above.id) if above.id != hub.id else []
                if placed:
                    deeper = [(level[hub.id], 1.0), (level[above.id], -1.0)]
                    # Without effect unless the hub is placed there: then it asks for no more than -1.
                    terms = [*deeper, *((v, -f * (1 + step)) for v, f in placed)]
                    self.program.row(terms, low=-1.0, name=f"hub_depth@{hub.id}")

    def _can_change_root(self, hub: Plug) -> bool:
        return any(self.may_move(self.desk.plugs[h]) for h in self._chain(hub))

    def _root_now(self, hub: Plug) -> str:
        return self.desk.places[self.desk.plugs[self._chain(hub)[-1]].at].hub

    def _chain(self, hub: Plug) -> list[str]:
        """The hub and the external hubs above it, nearest first."""
        chain: list[str] = []
        at: str | None = hub.id
        while at is not None and at not in chain:
            chain.append(at)
            at = self.desk.hub_plug(self.desk.places[self.desk.plugs[at].at])
        return chain

    @cached_property
    def hubs(self) -> list[Plug]:
        """External hubs in natural order."""
        return sorted((p for p in self.desk.plugs.values() if p.is_hub), key=lambda p: natural_key(p.id))

    @cached_property
    def roots(self) -> list[Device]:
        """Root hubs that places belong to."""
        hubs = {place.hub for place in self.desk.places.values() if place.on_root}
        return [root for root in self.desk.tree.root_hubs if root.id in hubs]

    def may_move(self, plug: Plug) -> bool:
        """Whether this program may put a plug elsewhere."""
        return plug.movable and (plug.id in self.movers or plug.id == self.helper)

    def asks(self, plug: Plug, kind: ControllerKind) -> Asks:
        """What a plug asks below a controller of that kind."""
        key = (plug.id, kind)
        if key not in self._asks:
            self._asks[key] = asks(self.desk, plug, self.settings, kind)
        return self._asks[key]


def build(desk: Desk, settings: Settings, movers: frozenset[str], helper: str | None = None) -> Model:
    """The program for a desk: choices, then every budget that adds up. Costs are set by whoever solves it.

    Only `movers` may leave their places, which makes the program smaller the fewer they are. A `helper` is a new plug
    that must leave its box.
    """
    model = Model(desk, settings, movers, helper)
    _choices(model)
    model.chosen()
    model.trees()
    _supplies(model)
    _groups(model)
    _controllers(model)
    _bus_time(model)
    _wishes(model)
    return model


def _choices(model: Model) -> None:
    desk, program = model.desk, model.program
    grouped: dict[tuple[str, bool, str | None, str | None], list[Place]] = {}
    for place in desk.places.values():
        if place.open:
            grouped.setdefault((place.hub, place.fast is not None, place.where, place.group), []).append(place)
    model.shelves.extend(Shelf(key, tuple(places)) for key, places in grouped.items())
    for plug in sorted(desk.plugs.values(), key=lambda p: natural_key(p.id)):
        model.stay[plug.id] = program.variable()
        ways: Sum = [(model.stay[plug.id], 1.0)]
        for number, shelf in enumerate(model.shelves if model.may_move(plug) else ()):
            if all(p.id != plug.at for p in shelf.places) and desk.allows(plug, shelf.first):
                model.put[plug.id, number] = program.variable()
                ways.append((model.put[plug.id, number], 1.0))
        program.row(ways, 1.0, 1.0)
    if model.helper is not None:
        program.row([(model.stay[model.helper], 1.0)], high=0.0)
    sitting = {plug.at: plug for plug in desk.plugs.values()}
    for number, shelf in enumerate(model.shelves):
        taken: Sum = [(v, 1.0) for (_, s), v in model.put.items() if s == number]
        taken += [(model.stay[sitting[p.id].id], 1.0) for p in shelf.places if p.id in sitting]
        program.row(taken, high=float(len(shelf.places)), name=f"sockets@{shelf.key[0]}")


def _least_draw(model: Model, plug: Plug) -> float:
    """What a plug draws through its socket at least, wherever everything else is put: of a bus-powered hub only its
    own share, since what hangs on it may be put elsewhere."""
    if not plug.is_hub:
        return plug.draws_ma or 0.0
    devices = [model.desk.tree.devices[half] for half in plug.halves]
    return max(own_draw(d) if d.self_powered is False else float(d.max_power_ma or 0) for d in devices)


def _drawn(model: Model, plug: Plug, placed: Sum) -> Sum:
    """What a plug draws where `placed` says that it is. A bus-powered hub that stays passes on what is put on it."""
    drawn = [(v, f * _least_draw(model, plug)) for v, f in placed]
    devices = [model.desk.tree.devices[half] for half in plug.halves]
    passes_on = plug.is_hub and all(d.self_powered is False for d in devices) and not model.may_move(plug)
    if not passes_on or not placed or any(half in model.desk.setup.measured_ma for half in plug.halves):
        return drawn
    for other in model.desk.plugs.values():
        drawn.extend(_drawn(model, other, model.on(other, plug.id)) if other.id != plug.id else ())
    return drawn


def _supplies(model: Model) -> None:
    """One supply feeds both halves of a hub, so both count. A bus-powered hub that may move is held to what the best
    socket would give; the engine holds it to the one it gets."""
    desk = model.desk
    for hub in model.hubs:
        device = desk.tree.devices[hub.id]
        limit = desk.setup.supplies_ma.get(hub.id)
        if limit is None and device.self_powered is False:
            best = FULL_LOAD_SUPER_MA if device.is_super else FULL_LOAD_MA
            upstream = best if model.may_move(hub) else allowance(desk.tree, device, desk.setup)
            limit = None if upstream is None else upstream.value - own_draw(device)
        if limit is not None:
            drawn = [term for plug in desk.plugs.values() for term in _drawn(model, plug, model.on(plug, hub.id))]
            model.program.row(drawn, high=limit, name=f"hub_supply@{hub.id}")


def _groups(model: Model) -> None:
    desk = model.desk
    for group, limit in sorted(desk.setup.group_ma.items()):
        drawn: Sum = []
        for plug in desk.plugs.values():
            if desk.places[plug.at].group == group:
                drawn.append((model.stay[plug.id], _least_draw(model, plug)))
        for (p, shelf), v in model.put.items():
            if model.shelves[shelf].key[3] == group:
                drawn.append((v, _least_draw(model, desk.plugs[p])))
        model.program.row(drawn, high=limit, name=f"group_current@{group}")


def _controllers(model: Model) -> None:
    desk = model.desk
    for controller in desk.snapshot.controllers:
        if controller.kind != "xhci":
            continue
        roots = [r.id for r in model.roots if r.parent == controller.id]
        known = (("endpoints", endpoint_limit(controller, desk.setup)), ("slots", slot_limit(controller, desk.setup)))
        for budget, (limit, _, _) in known:
            if limit is None:
                continue
            weights = {p.id: _weight(model.asks(p, "xhci"), budget) for p in desk.plugs.values()}
            if sum(weights.values()) <= limit:
                continue  # even all of them together fit: the row could never matter
            sums: Sum = []
            for plug in desk.plugs.values():
                weight = weights[plug.id]
                for root in roots:
                    where = model.under(plug, root) if plug.is_hub else model.inside(plug, root)
                    sums.extend((v, f * weight) for v, f in where)
            model.program.row(sums, high=limit, name=f"{budget}@{controller.id}")


def _weight(own: Asks, budget: str) -> int:
    return own.endpoints if budget == "endpoints" else own.slots


def loading(model: Model, plug: Plug, root: str) -> Sum:
    """One if a plug takes time of a root bus: anywhere below it, but for a slower device straight on a fast root,
    which goes by a translator of its own."""
    desk = model.desk
    inside = model.inside(plug, root)
    if not has_microframes(desk.tree.devices[root]) or any(
        desk.tree.devices[half].speed == "high" for half in plug.halves
    ):
        return inside
    straight = {variable for variable, _ in model.on(plug, root)}
    return [(v, f) for v, f in inside if v not in straight]


def _bus_time(model: Model) -> None:
    desk = model.desk
    leaves = [p for p in desk.plugs.values() if not p.is_hub]
    for root in model.roots:
        controller = desk.tree.controllers.get(root.parent or "")
        kind = controller.kind if controller is not None else "other"
        fast = has_microframes(root)
        limit = (MICROFRAME_US if fast else FRAME_US).value
        sums: Sum = []
        most = 0.0
        for plug in leaves:
            own = model.asks(plug, kind)
            takes = own.split_us if fast and not own.high_speed else own.own_us
            most += takes
            sums.extend((v, f * takes) for v, f in loading(model, plug, root.id) if takes)
        if most > limit:  # else even all of them together fit, and the row could never matter
            model.program.row(sums, high=limit, name=f"periodic_time@{root.id}")
    for hub in model.hubs:
        device = desk.tree.devices[hub.id]
        if device.speed == "high" and device.hub is not None and device.hub.translator != "multi":
            shared: Sum = []
            for plug in leaves:
                own = model.asks(plug, "xhci")
                if not own.high_speed:
                    shared.extend((v, f * own.own_us) for v, f in model.on(plug, hub.id))
            model.program.row(shared, high=TRANSLATOR_US.value, name=f"periodic_time@{hub.id}/tt")


def _wishes(model: Model) -> None:
    desk = model.desk
    strips: dict[tuple[str, str | None], list[int]] = {}
    for number, shelf in enumerate(model.shelves):
        strips.setdefault(shelf.first.strip, []).append(number)

    def at(plug: Plug, strip: tuple[str, str | None]) -> Sum:
        here = [(model.put[plug.id, s], 1.0) for s in strips[strip] if (plug.id, s) in model.put]
        return [*here, (model.stay[plug.id], 1.0)] if desk.places[plug.at].strip == strip else here

    for pairs, together in ((desk.setup.apart, False), (desk.setup.together, True)):
        for one, other in pairs:
            a, b = (desk.plugs.get(desk.plug_of.get(x, "")) for x in (one, other))
            if a is None or b is None:
                continue
            for strip in strips:
                if together:
                    model.program.row([*at(a, strip), *((v, -f) for v, f in at(b, strip))], 0.0, 0.0, f"together@{one}")
                else:
                    model.program.row([*at(a, strip), *at(b, strip)], high=1.0, name=f"apart@{one}")
