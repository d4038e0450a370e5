"""Devices that left the bus: which came back by themselves, and which left together. Knows times and the tree."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from wizard.bus.model import Snapshot
from wizard.bus.tree import BusTree
from wizard.bus.watching import Together, WatchEvent

RETURN_S = 1.0
"""Back within so many seconds: no hand is as quick. The host waits 100 ms for a plug to sit still and 10 ms for the
reset (USB 2.0 §7.1.7.3), then asks a few questions; that a hand takes longer is common practice (no source)."""

AT_ONCE_S = 1.0
"""Devices that leave within so many seconds left together; the kernel takes them down one after the other, a few
milliseconds each (from memory)."""

_MOST_FALLS = 5_000
_MOST_GROUPS = 200


@dataclass(frozen=True)
class Fall:
    """A device that left at `t`; `away` seconds until it was back, None if it was not."""

    device: str
    t: float
    away: float | None = None

    @property
    def by_itself(self) -> bool:
        """Whether it was back sooner than a hand can do it."""
        return self.away is not None and self.away <= RETURN_S


class Bus:
    """Who hangs on whom: from the snapshot, and for what came later from the ids."""

    def __init__(self, snapshot: Snapshot) -> None:
        self._tree = BusTree(snapshot)

    def above(self, device: str) -> tuple[str, ...]:
        """The hubs above a device, nearest first, to the root hub."""
        bus, _, ports = device.partition("-")
        parts = ports.split(".") if ports else []
        hubs = [f"{bus}-{'.'.join(parts[:n])}" for n in range(len(parts) - 1, 0, -1)]
        return (*hubs, f"usb{bus}") if parts else ()

    def controller(self, device: str) -> str:
        """The controller of a device, or its root hub where the snapshot knows none."""
        root = (device, *self.above(device))[-1]
        known = self._tree.devices.get(root)
        return known.parent if known is not None and known.parent else root

    def is_hub(self, device: str) -> bool:
        """Whether it is known to be a hub."""
        known = self._tree.devices.get(device)
        return device.startswith("usb") or (known is not None and known.hub is not None)

    def others_on_hub(self, device: str) -> bool:
        """Whether other devices hang on the same hub or root hub."""
        known = self._tree.devices.get(device)
        return known is not None and known.parent is not None and len(self._tree.children(known.parent)) > 1


def falls_in(events: Sequence[WatchEvent]) -> tuple[Fall, ...]:
    """Every device that left, with the time until it was back; of very many the last ones."""
    falls: list[Fall] = []
    open_falls: dict[str, int] = {}
    for event in events:
        if event.kind == "disconnect":
            open_falls[event.where] = len(falls)
            falls.append(Fall(event.where, event.t))
        elif event.kind == "connect" and event.where in open_falls:
            at = open_falls.pop(event.where)
            falls[at] = Fall(event.where, falls[at].t, event.t - falls[at].t)
    return tuple(falls[-_MOST_FALLS:])


def falls_together(falls: Sequence[Fall], bus: Bus) -> tuple[Together, ...]:
    """Groups that left at once and have a hub or a controller in common; the last ones of very many."""
    groups = (_in_common(group, bus) for group in _at_once(falls))
    return tuple(group for group in groups if group is not None)[-_MOST_GROUPS:]


def _at_once(falls: Sequence[Fall]) -> Iterator[list[Fall]]:
    group: list[Fall] = []
    for fall in falls:
        if group and fall.t - group[0].t > AT_ONCE_S:
            yield group
            group = []
        group.append(fall)
    if group:
        yield group


def _in_common(group: list[Fall], bus: Bus) -> Together | None:
    gone = {fall.device for fall in group}
    hubs = {d for d in gone if bus.is_hub(d)} | {hub for d in gone for hub in bus.above(d) if hub in gone}
    devices = tuple(dict.fromkeys(fall.device for fall in group if fall.device not in hubs))
    t = group[0].t
    taken = [hub for hub in sorted(hubs, key=len) if all(hub in bus.above(d) for d in devices)]
    if taken and devices:
        if taken[0].startswith("usb"):
            return _by_controller(t, devices, bus, hub_left=True)
        return Together(t=t, where=taken[0], what="hub", devices=devices, hub_left=True)
    if len(devices) < 2:
        return None
    if all(any(hub in hubs for hub in bus.above(d)) for d in devices):
        # Several hubs left, each with its own: the two halves of a USB 3 hub, or hubs on one controller.
        return _by_controller(t, devices, bus, hub_left=True)
    shared = next((hub for hub in bus.above(devices[0]) if all(hub in bus.above(d) for d in devices)), None)
    if shared is not None and not shared.startswith("usb"):
        return Together(t=t, where=shared, what="hub", devices=devices)
    return _by_controller(t, devices, bus, hub_left=False)


def _by_controller(t: float, devices: tuple[str, ...], bus: Bus, hub_left: bool) -> Together | None:
    controllers = {bus.controller(d) for d in devices}
    if len(controllers) != 1:
        return None
    return Together(t=t, where=controllers.pop(), what="controller", devices=devices, hub_left=hub_left)
