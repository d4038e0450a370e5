"""Where reserved bus time is counted: each USB 2 bus and each transaction translator, with the limit that holds there.

Knows hubs, roots and controllers; not what hangs there needs.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

from wizard.budget.bus_time import bus_speed
from wizard.budget.limits import FRAME_US, MICROFRAME_US, TRANSLATOR_US, Limit
from wizard.bus.model import ControllerKind, Device
from wizard.bus.tree import BusTree

EHCI_CAP = (
    "Linux's EHCI driver fills a translator up to 780 us of a frame only, and so refuses one full-speed stream of "
    "more than 988 bytes (ehci-sched.c max_tt_usecs, confirmed)"
)


@dataclass(frozen=True)
class Place:
    """One budget of bus time: where, its limit, the slot it is counted in, and what each transaction costs beside its
    bus time (a translator's think time; None where a hub has one that could not be read)."""

    where: str
    limit: Limit
    microframes: bool
    kind: ControllerKind
    think_ns: int | None = 0
    note: str | None = None

    @property
    def unit(self) -> str:
        """Unit of the entry."""
        return "us/microframe" if self.microframes else "us/frame"

    @property
    def is_translator(self) -> bool:
        """Whether it is a translator's own bus, not one with wires to the controller."""
        return "/" in self.where


def places_of(tree: BusTree, devices: Iterable[Device]) -> dict[str, Place]:
    """The places that these devices make or use, by id."""
    places: dict[str, Place] = {}
    for device in devices:
        kind = controller_kind(tree, device)
        if device.root and _has_usb_2_wires(tree, device):
            high = has_microframes(device)
            places[device.id] = Place(device.id, MICROFRAME_US if high else FRAME_US, high, kind)
        hub = device.hub
        if hub is not None and not device.root and device.speed == "high" and hub.translator == "single":
            places[f"{device.id}/tt"] = _translator(tree, f"{device.id}/tt", device, kind)
        served = translator_of(tree, device)
        if served is not None and served not in places:
            places[served] = _translator(tree, served, tree.devices.get(served.split("/", 1)[0]), kind)
    return places


def _has_usb_2_wires(tree: BusTree, root: Device) -> bool:
    """Whether a root hub stands for a USB 2 bus. On some systems one root hub stands for both sides of a controller:
    it is listed at SuperSpeed, or at no speed, and slower devices hang on it."""
    if root.speed is not None and not root.is_super:
        return True
    return any(bus_speed(d.speed) is not None for d in tree.children(root.id))


def has_microframes(hub: Device) -> bool:
    """Whether the USB 2 bus at a root hub runs at high speed; one that stands for both sides of a controller does."""
    return hub.speed not in ("low", "full")


def _translator(tree: BusTree, where: str, hub: Device | None, kind: ControllerKind) -> Place:
    built_in = hub is None or hub.root
    think = 0 if built_in or hub is None or hub.hub is None else hub.hub.think_ns
    by_linux = tree.snapshot.system.os in (None, "linux")
    return Place(where, TRANSLATOR_US, False, kind, think, EHCI_CAP if kind == "ehci" and by_linux else None)


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
