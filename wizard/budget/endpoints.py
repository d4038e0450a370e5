"""Endpoints and slots: how much a controller must keep in mind, and how much it can.

Every device costs one control endpoint and those of its alternate settings; hubs count, root hubs do not.
"""

from typing import NamedTuple

from wizard.budget.entry import Basis, Entry, Part, state_of
from wizard.budget.limits import (
    ADDRESSES,
    ENDPOINT_BETWEEN,
    ENDPOINT_BRACKET,
    ENDPOINT_LIMIT_BY_PCI,
    ENDPOINT_NOTE,
    ENDPOINT_OLD,
    ENDPOINT_RECENT,
    ENDPOINT_SOURCE,
    PERIPHERALS_BY_PCI,
    SLOT_BRACKET,
    SLOT_LIMIT_BY_PCI,
    SLOT_SOURCE,
    Limit,
)
from wizard.budget.scope import Scope
from wizard.budget.setup import Setup
from wizard.bus.model import Controller, Device
from wizard.bus.tree import BusTree, natural_key


def controller_entries(tree: BusTree, setup: Setup, scope: Scope) -> tuple[Entry, ...]:
    """`endpoints` of every xHCI controller, then `slots` of every controller."""
    wanted = (c for c in tree.snapshot.controllers if scope.covers(c.id))
    controllers = sorted(wanted, key=lambda c: natural_key(c.id))
    endpoints = [_endpoints(tree, c, setup) for c in controllers if c.kind == "xhci"]
    slots = [_slots(tree, c, setup) if c.kind == "xhci" else _addresses(tree, c) for c in controllers]
    return (*endpoints, *slots)


def endpoints_now(device: Device) -> int:
    """Endpoints a device takes with its current alternate settings, the control endpoint included."""
    settings = (interface.current() for interface in device.interfaces)
    return 1 + sum(len(s.endpoints) for s in settings if s is not None)


def endpoints_greatest(device: Device) -> int:
    """The same with the alternate setting of each interface that has most."""
    return 1 + sum(max((len(a.endpoints) for a in i.alternates), default=0) for i in device.interfaces)


def _devices_of(tree: BusTree, controller: Controller) -> list[Device]:
    below = (d for d in tree.below(controller.id) if not d.root)
    return sorted(below, key=lambda d: natural_key(d.id))


def _pci(controller: Controller) -> tuple[str, str]:
    pci = controller.pci
    return ((pci.vendor or "").lower(), (pci.device or "").lower()) if pci is not None else ("", "")


Known = tuple[float | None, Basis, str | None]
"""A limit, how it is known, and its source."""


def endpoint_limit(controller: Controller, setup: Setup) -> Known:
    """How many endpoints a controller can keep."""
    known = ENDPOINT_LIMIT_BY_PCI.get(_pci(controller))
    return _limit(controller.endpoint_limit, setup.endpoint_limit.get(controller.id), known)


def slot_limit(controller: Controller, setup: Setup) -> Known:
    """How many devices an xHCI controller can keep."""
    known = SLOT_LIMIT_BY_PCI.get(_pci(controller))
    return _limit(controller.slot_limit, setup.slot_limit.get(controller.id), known)


def _limit(reported: int | None, told: int | None, known: Limit | None) -> Known:
    """The user's word first, then the host's, then a document's."""
    if told is not None:
        return float(told), "declared", "as told"
    if reported is not None:
        return float(reported), "measured", "reported by the host controller"
    if known is not None:
        return known.value, "declared", known.source
    return None, "unknown", None


class _Counted(NamedTuple):
    """What one device takes of its controller: endpoints now and at the greatest settings, and its slot; `guessed`
    where nobody tells a setting in use. The device is kept, so that its identity can't be given to another."""

    device: Device
    now: Part
    slot: Part
    greatest: int
    guessed: bool


def _counted(tree: BusTree, device: Device) -> _Counted:
    """Counted once for each device that a tree has met."""
    key = ("endpoints", id(device))
    known: _Counted | None = tree.remembered.get(key)
    if known is None:
        known = tree.remembered[key] = _Counted(
            device,
            Part(who=device.id, used=endpoints_now(device)),
            Part(who=device.id, used=1),
            endpoints_greatest(device),
            any(not i.setting_is_known for i in device.interfaces),
        )
    return known


def _endpoints(tree: BusTree, controller: Controller, setup: Setup) -> Entry:
    devices = _devices_of(tree, controller)
    counted = [_counted(tree, d) for d in devices]
    parts = tuple(c.now for c in counted)
    unread = [d.id for d in devices if d.is_unread]
    least = sum(p.used for p in parts)
    limit, basis, source = endpoint_limit(controller, setup)
    bracket = _endpoint_bracket(controller, setup) if limit is None else None
    # What could not be read takes at least its control endpoint: enough to say over, never enough to say room.
    used = None if unread and state_of(least, limit, bracket) != "over" else least
    note = f"At least {least:g}: {', '.join(unread)} could not be read" if unread else None
    guessed = any(c.guessed for c in counted)
    return Entry(
        budget="endpoints",
        where=controller.id,
        used=used,
        limit=limit,
        bracket=bracket,
        between=tuple(v for v in ENDPOINT_BETWEEN if bracket is not None and bracket[0] < v < bracket[1]),
        unit="endpoints",
        state=state_of(used, limit, bracket),
        basis="unknown" if unread else "assumed" if guessed else "declared",
        limit_basis=basis,
        source=source or ENDPOINT_SOURCE,
        settles="controller_kind" if limit is None and controller.id not in setup.controller_age else None,
        parts=parts if used is not None else (),
        note=note or (ENDPOINT_NOTE if limit is None else None),
        greatest=float(sum(c.greatest for c in counted)),
    )


def _endpoint_bracket(controller: Controller, setup: Setup) -> tuple[float, float]:
    """All field values, or those that are left for what the user told."""
    age = setup.controller_age.get(controller.id)
    return {None: ENDPOINT_BRACKET, "old": ENDPOINT_OLD, "recent": ENDPOINT_RECENT}[age]


def _slots(tree: BusTree, controller: Controller, setup: Setup) -> Entry:
    parts = tuple(_counted(tree, d).slot for d in _devices_of(tree, controller))
    used = float(len(parts))
    limit, basis, source = slot_limit(controller, setup)
    bracket = SLOT_BRACKET if limit is None else None
    return Entry(
        budget="slots",
        where=controller.id,
        used=used,
        limit=limit,
        bracket=bracket,
        unit="devices",
        state=state_of(used, limit, bracket),
        basis="measured",
        limit_basis=basis,
        source=source or SLOT_SOURCE,
        settles="controller_kind" if limit is None else None,
        parts=parts,
        finding=_beyond_promise(used, controller),
    )


def _beyond_promise(used: float, controller: Controller) -> str | None:
    promised = PERIPHERALS_BY_PCI.get(_pci(controller))
    if promised is None or used <= promised.value:
        return None
    return (
        f"One controller, and more devices than its maker promises: {used:g} of {promised.value:g} ({promised.source})"
    )


def _addresses(tree: BusTree, controller: Controller) -> Entry:
    """Addresses on the fullest bus of a controller that is not xHCI; its root hub takes one."""
    buses = [[root, *tree.below(root.id)] for root in tree.children(controller.id) if root.root]
    fullest = max(buses, key=len, default=[])
    return Entry(
        budget="slots",
        where=controller.id,
        used=float(len(fullest)),
        limit=ADDRESSES.value,
        unit="devices",
        state=state_of(len(fullest), ADDRESSES.value),
        basis="measured",
        limit_basis="declared",
        source=ADDRESSES.source,
        parts=tuple(Part(who=d.id, used=1) for d in sorted(fullest, key=lambda d: natural_key(d.id))),
    )
