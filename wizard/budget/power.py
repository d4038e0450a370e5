"""Current: what each occupied socket must feed, and what each external hub must supply.

Declared figures only. A bus-powered hub passes on what hangs below it, a self-powered one does not
(USB 2.0 §7.2.1). The two halves of a USB 3 socket are reckoned separately, each with what hangs on it.
"""

from collections.abc import Iterable, Sequence
from math import fsum
from typing import NamedTuple

from wizard.budget.charging import offered
from wizard.budget.entry import Basis, Entry, Part, state_of
from wizard.budget.limits import (
    BEHIND_BUS_POWERED_MA,
    BEHIND_BUS_POWERED_SUPER_MA,
    FULL_LOAD_MA,
    FULL_LOAD_SUPER_MA,
    UNIT_LOAD_MA,
    UNIT_LOAD_SUPER_MA,
    Limit,
)
from wizard.budget.peaks import peak_together, peak_words
from wizard.budget.scope import Scope
from wizard.budget.setup import Setup
from wizard.bus.model import Device
from wizard.bus.tree import BusTree, natural_key


def power_entries(tree: BusTree, setup: Setup, scope: Scope) -> tuple[Entry, ...]:
    """`port_current` of every socket that feeds something, `hub_supply` of every external hub, and
    `group_current` of every group of sockets that shares a feed."""
    devices = scope.devices(tree)
    ports = [_port_current(tree, d, setup) for d in devices]
    hubs = [_hub_supply(tree, d, setup) for d in devices if d.hub is not None]
    return (*ports, *hubs, *_groups(tree, setup))


DEEPEST_CHAIN = 32
"""Hubs in series after which a snapshot is not believed; the standard allows five (USB 2.0 §4.1.1)."""


def parts_fed(tree: BusTree, device: Device, setup: Setup, depth: int = 0) -> tuple[Part, ...] | None:
    """Who draws how much, in mA, through the socket of a device; None if any of it is not known.

    A current that was measured beats the declared one, for a hub all it draws.
    A bus-powered hub may take one unit load for itself (USB 2.0 §7.2.1.1). What it declares above that already
    stands for its sockets, so only the part of it that nothing below accounts for is added.
    """
    measured = setup.measured_ma.get(device.id)
    if measured is not None:
        return (Part(who=device.id, used=measured),)
    if device.hub is None:
        return None if device.max_power_ma is None else (Part(who=device.id, used=device.max_power_ma),)
    own_supply = feeds_itself(device, setup)
    if device.max_power_ma is None or own_supply is None or depth > DEEPEST_CHAIN:
        return None
    if own_supply:
        return (Part(who=device.id, used=device.max_power_ma),)
    below: list[Part] = []
    for child in tree.children(device.id):
        fed = parts_fed(tree, child, setup, depth + 1)
        if fed is None:
            return None
        below.extend(fed)
    own = max(own_draw(device), device.max_power_ma - sum(p.used for p in below))
    return (Part(who=device.id, used=own), *below)


def feeds_itself(hub: Device, setup: Setup | None) -> bool | None:
    """Whether a hub has a supply of its own: as it says, else as the user told; None where nobody does."""
    if hub.self_powered is not None or setup is None:
        return hub.self_powered
    told = setup.hub_power.get(hub.id)
    return None if told is None else told == "self"


def own_draw(hub: Device) -> float:
    """What a bus-powered hub itself may draw: what it declares, at most one unit load."""
    return min(float(hub.max_power_ma or 0), UNIT_LOAD_SUPER_MA if hub.is_super else UNIT_LOAD_MA)


def allowance(tree: BusTree, device: Device, setup: Setup | None = None) -> Limit | None:
    """What the socket of a device may feed; None if the hub above does not say how it is fed."""
    hub = tree.devices.get(device.parent or "")
    if hub is None:
        return None
    more = offered(tree, device, setup)
    if more is not None:
        return more
    own_supply = feeds_itself(hub, setup)
    if hub.root or own_supply:
        return FULL_LOAD_SUPER_MA if device.is_super else FULL_LOAD_MA
    if own_supply is False:
        return BEHIND_BUS_POWERED_SUPER_MA if device.is_super else BEHIND_BUS_POWERED_MA
    return None


def _port_current(tree: BusTree, device: Device, setup: Setup) -> Entry:
    parts = parts_fed(tree, device, setup)
    used = None if parts is None else fsum(p.used for p in parts)
    found = allowance(tree, device, setup)
    limit = None if found is None else found.value
    bracket = None if found is not None else _bracket(device)
    peak = None if parts is None else peak_together(tree, parts, setup)
    return Entry(
        budget="port_current",
        where=device.id,
        used=used,
        limit=limit,
        bracket=bracket,
        unit="mA",
        state=state_of(used, limit, bracket),
        basis="unknown" if used is None else _basis(parts or (), setup),
        limit_basis="unknown" if limit is None else "declared",
        source=found.source if found is not None else "USB 2.0 §7.2.1; how the hub above is fed is not known",
        settles="hub_power" if limit is None else None,
        parts=parts or (),
        note=peak_words(peak, used, limit, one_socket=True),
        peak=peak,
    )


def _bracket(device: Device) -> tuple[float, float]:
    """Behind a bus-powered hub, or behind one with a supply of its own."""
    if device.is_super:
        return (BEHIND_BUS_POWERED_SUPER_MA.value, FULL_LOAD_SUPER_MA.value)
    return (BEHIND_BUS_POWERED_MA.value, FULL_LOAD_MA.value)


class Feed(NamedTuple):
    """What several sockets give together: each device's sum, their total (None if any is not known), and the typical
    total at start-up."""

    parts: tuple[Part, ...]
    used: float | None
    peak: float | None

    @classmethod
    def of(cls, tree: BusTree, plugged: Iterable[Device], setup: Setup) -> "Feed":
        """The feed of these devices, each with what hangs on it."""
        fed = [(d.id, parts_fed(tree, d, setup)) for d in plugged]
        known = [(who, parts) for who, parts in fed if parts is not None]
        if len(known) < len(fed):
            return cls((), None, None)
        sums = tuple(Part(who=who, used=fsum(p.used for p in parts)) for who, parts in known)
        peak = peak_together(tree, (p for _, parts in known for p in parts), setup)
        return cls(sums, fsum(p.used for p in sums), peak)


def _hub_supply(tree: BusTree, hub: Device, setup: Setup) -> Entry:
    halves = _halves_of_supply(tree, hub, setup)
    feed = Feed.of(tree, (child for half in halves for child in tree.children(half.id)), setup)
    limit, source = _supply_of(tree, hub, setup)
    found = (_too_many_sockets(tree, hub, limit, setup), peak_words(feed.peak, feed.used, limit))
    return Entry(
        budget="hub_supply",
        where=hub.id,
        used=feed.used,
        limit=limit,
        unit="mA",
        state=state_of(feed.used, limit),
        basis="unknown" if feed.used is None else _basis(feed.parts, setup),
        limit_basis="unknown" if limit is None else "declared",
        source=source,
        settles="hub_supply_ma" if limit is None else None,
        parts=feed.parts,
        finding=". ".join(f for f in found if f) or None,
        if_full=_if_full(tree, hub, setup),
        peak=feed.peak,
    )


def _halves_of_supply(tree: BusTree, hub: Device, setup: Setup) -> tuple[Device, ...]:
    """The hub, and the other half of a USB 3 hub with a supply of its own: one supply feeds both."""
    socket = tree.sockets.get(hub.id)
    other = tree.devices.get(socket.peer) if socket is not None and socket.peer is not None else None
    if other is None or other.hub is None or not (feeds_itself(hub, setup) and feeds_itself(other, setup)):
        return (hub,)
    return tuple(sorted((hub, other), key=lambda d: d.is_super))


def _basis(parts: Sequence[Part], setup: Setup) -> Basis:
    """`measured` only if every part of a sum was measured."""
    return "measured" if parts and all(p.who in setup.measured_ma for p in parts) else "declared"


def _groups(tree: BusTree, setup: Setup) -> Iterable[Entry]:
    """Every group, whatever the scope: they are few, and a hub that moves may take members along."""
    members: dict[str, list[str]] = {}
    for socket in tree.snapshot.sockets:
        if socket.group is not None:
            members.setdefault(socket.group, []).append(socket.id)
    for group in sorted(members, key=natural_key):
        yield _group_current(tree, group, sorted(members[group], key=natural_key), setup)


def _group_current(tree: BusTree, group: str, sockets: list[str], setup: Setup) -> Entry:
    feed = Feed.of(tree, (tree.devices[s] for s in sockets if s in tree.devices), setup)
    limit = setup.group_ma.get(group)
    return Entry(
        budget="group_current",
        where=group,
        used=feed.used,
        limit=limit,
        unit="mA",
        state=state_of(feed.used, limit),
        basis="unknown" if feed.used is None else _basis(feed.parts, setup),
        limit_basis="unknown" if limit is None else "declared",
        source="rating of the shared feed, as told" if limit is not None else "the shared feed's rating was not told",
        parts=feed.parts,
        finding=peak_words(feed.peak, feed.used, limit),
        peak=feed.peak,
    )


def _supply_of(tree: BusTree, hub: Device, setup: Setup) -> tuple[float | None, str]:
    """Limit in mA and its source."""
    halves = _halves_of_supply(tree, hub, setup)
    told = next((setup.supplies_ma[h.id] for h in (hub, *halves) if h.id in setup.supplies_ma), None)
    if told is not None:
        return told, "rating of the hub's own supply, as told"
    own_supply = feeds_itself(hub, setup)
    if own_supply is False:
        upstream = allowance(tree, hub, setup)
        if upstream is not None and hub.max_power_ma is not None:
            return upstream.value - own_draw(hub), f"{upstream.source}; less the hub's own draw"
        return None, "bus-powered hub; what the socket above may feed is not known"
    if own_supply:
        return None, "the hub has a supply of its own; its rating can't be read and was not told"
    return None, "how the hub is fed can't be read"


def _too_many_sockets(tree: BusTree, hub: Device, supply: float | None, setup: Setup) -> str | None:
    """A hub that promises more than it can give is a finding by itself, whatever is plugged in now."""
    full = _if_full(tree, hub, setup)
    if supply is None or full is None or full <= supply:
        return None
    ports = _ports(tree, hub) or 1
    each = full / ports
    return (
        f"Its {ports} sockets may ask for {full:g} mA together, and its supply gives {supply:g} mA: "
        f"enough for {int(supply // each)} of them at {each:g} mA, or {int(supply // ports)} mA each"
    )


def _ports(tree: BusTree, hub: Device) -> int | None:
    known = hub.hub.ports if hub.hub is not None else None
    return known if known is not None else len(tree.sockets_of(hub.id)) or None


def _if_full(tree: BusTree, hub: Device, setup: Setup) -> float | None:
    """Current if every socket fed what it may, in mA."""
    ports = _ports(tree, hub)
    own_supply = feeds_itself(hub, setup)
    if ports is None or own_supply is None:
        return None
    if own_supply:
        each = FULL_LOAD_SUPER_MA if hub.is_super else FULL_LOAD_MA
    else:
        each = BEHIND_BUS_POWERED_SUPER_MA if hub.is_super else BEHIND_BUS_POWERED_MA
    return ports * each.value
