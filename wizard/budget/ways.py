"""How a device reaches its USB 2 bus: straight, or through the translator of a hub or of a root hub."""

from itertools import pairwise
from typing import NamedTuple

from wizard.budget.bus_time import BusSpeed, bus_speed
from wizard.bus.model import ControllerKind, Device
from wizard.bus.tree import BusTree


class Way(NamedTuple):
    """How a device reaches its USB 2 bus: the root hub, its speed, the places it takes time of (its own first), whether
    it could not be read and whether nobody tells a setting in use."""

    device: Device
    root: str
    speed: BusSpeed
    places: tuple[str, ...]
    unread: bool
    guessed: bool

    @property
    def split(self) -> bool:
        """Whether it works through a translator of a hub, and so loads the bus above as well."""
        return len(self.places) > 1


def way_of(tree: BusTree, device: Device) -> Way | None:
    """The way of a device, found once for each that a tree has met: where it hangs stands in its id, and what hangs
    above it changes only with it. None for root hubs, on SuperSpeed, and where the chain is broken."""
    key = ("way", id(device))
    known = tree.remembered.get(key)
    if known is None:
        known = tree.remembered[key] = (device, _found_way(tree, device))
    way: Way | None = known[1]
    return way


def _found_way(tree: BusTree, device: Device) -> Way | None:
    speed = bus_speed(device.speed)
    root = tree.root_of(device.id)
    if device.root or speed is None or root is None:
        return None
    translator = translator_of(tree, device)
    own = translator or root.id
    split = translator is not None and not translator.startswith(f"{root.id}/")
    guessed = any(not interface.setting_is_known for interface in device.interfaces)
    return Way(device, root.id, speed, (own, root.id) if split else (own,), device.is_unread, guessed)


def has_microframes(hub: Device) -> bool:
    """Whether the USB 2 bus at a root hub runs at high speed; one that stands for both sides of a controller does."""
    return hub.speed not in ("low", "full")


def controller_kind(tree: BusTree, device: Device) -> ControllerKind:
    """The kind of controller a device hangs on; `other` where that is not known."""
    controller = tree.controller_of(device.id)
    return controller.kind if controller is not None else "other"


def translator_of(tree: BusTree, device: Device) -> str | None:
    """The translator a low- or full-speed device works through, or None if it needs none or that is not known.

    One per hub in single mode, one per socket in multi mode (USB 2.0 §11.14.1.3); a hub whose mode is not known
    counts as single, the stricter case. Root hubs have theirs built in: one for all sockets on EHCI, one for each
    socket on xHCI, where slower devices are plugged straight into the controller.
    """
    if device.speed not in ("low", "full") or device.root:
        return None
    path = tree.path(device.id)
    for below, hub in pairwise(path):
        if hub.speed != "high" and not (hub.root and has_microframes(hub)):
            continue
        port = _port_of(below.id)
        if hub.root:
            return f"{hub.id}/tt" if controller_kind(tree, hub) == "ehci" else f"{hub.id}/tt{port}"
        multi = hub.hub is not None and hub.hub.translator == "multi"
        return f"{hub.id}/tt{port}" if multi else f"{hub.id}/tt"
    return None


def _port_of(device_id: str) -> str:
    return device_id.replace("-", ".").rsplit(".", 1)[-1]
