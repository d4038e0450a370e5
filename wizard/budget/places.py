"""Where reserved bus time is counted: each USB 2 bus and each transaction translator, with the limit that holds there.

Knows hubs, roots and controllers; not what hangs there needs.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from wizard.budget.bus_time import bus_speed
from wizard.budget.limits import FRAME_US, MICROFRAME_US, TRANSLATOR_US, Limit
from wizard.budget.ways import controller_kind, has_microframes, way_of
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
        way = way_of(tree, device)
        served = way.places[0] if way is not None and "/" in way.places[0] else None
        if served is not None and served not in places:
            places[served] = _translator(tree, served, tree.devices.get(served.split("/", 1)[0]), kind)
    return places


def _has_usb_2_wires(tree: BusTree, root: Device) -> bool:
    """Whether a root hub stands for a USB 2 bus. On some systems one root hub stands for both sides of a controller:
    it is listed at SuperSpeed, or at no speed, and slower devices hang on it."""
    if root.speed is not None and not root.is_super:
        return True
    return any(bus_speed(d.speed) is not None for d in tree.children(root.id))


def _translator(tree: BusTree, where: str, hub: Device | None, kind: ControllerKind) -> Place:
    built_in = hub is None or hub.root
    think = 0 if built_in or hub is None or hub.hub is None else hub.hub.think_ns
    by_linux = tree.snapshot.system.os in (None, "linux")
    return Place(where, TRANSLATOR_US, False, kind, think, EHCI_CAP if kind == "ehci" and by_linux else None)
