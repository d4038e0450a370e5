"""A look at a Linux bus, live or captured: finds the places, reads them, and builds the snapshot.

No rights are needed. Nothing is written, no device is woken or asked anything; all comes from what the
kernel already knows. The one exception: for the administrator, reading how many devices an xHCI
controller can hold wakes a sleeping controller for a moment.
"""

from functools import partial
from pathlib import Path

from wizard.bus.errors import CancelledError
from wizard.bus.model import Controller, Device, Snapshot, Socket, Unreadable
from wizard.bus.tree import natural_key
from wizard.observe.notes import NO_BUS, notes_on
from wizard.observe.patience import do_all
from wizard.observe.seen import Seen, Watcher
from wizard.observe.sysfs.controllers import RawController, make_controller, read_capabilities, read_controller
from wizard.observe.sysfs.devices import make_device
from wizard.observe.sysfs.disk import DiskTree
from wizard.observe.sysfs.index import DevicePlace, Index, find_devices, in_order
from wizard.observe.sysfs.reading import Known, RawDevice, read_free, read_locked, settled
from wizard.observe.sysfs.sockets import HubSide, RawPort, make_sockets, read_ports
from wizard.observe.sysfs.system import read_system
from wizard.observe.sysfs.tree import Tree

_DOING = "Looking at what is plugged in"


def look(root: Path | None = None, watcher: Watcher | None = None) -> Seen:
    """Look at the running system, or at the tree below `root`. Raises CancelledError if told to stop."""
    return look_at(DiskTree(root or Path("/")), watcher or Watcher(), NO_BUS)


def look_at(tree: Tree, watcher: Watcher, without_bus: str) -> Seen:
    """Look at any tree; `without_bus` is the note for one that holds no USB. Raises CancelledError."""
    watcher.progress("Searching for USB controllers", None)
    index = find_devices(tree)
    if watcher.cancelled():
        raise CancelledError(_DOING)
    gathered = _Gathered(index)
    gathered.read(tree, watcher)
    snapshot = gathered.snapshot(tree)
    if watcher.cancelled():
        raise CancelledError(_DOING)
    watcher.progress(_DOING, 1.0)
    notes = notes_on(snapshot)
    return Seen(snapshot, notes if snapshot.devices else (*notes, without_bus))


class _Gathered:
    """Everything read in one look, by place."""

    def __init__(self, index: Index) -> None:
        self._index = index
        self._devices = {place.id: RawDevice(place) for place in index.devices}
        self._known: Known = {}
        self._ports: dict[str, list[RawPort]] = {}
        self._controllers = {
            place.parent: RawController(place.parent, place.path.rpartition("/")[0])
            for place in index.devices
            if place.root and place.parent
        }

    def read(self, tree: Tree, watcher: Watcher) -> None:
        """Read all that never waits first, then what may; give up on what does not come back."""
        raws = list(self._devices.values())
        controllers = list(self._controllers.values())
        jobs = [partial(self._read_device, tree, raw) for raw in raws]
        jobs += [partial(read_controller, tree, controller) for controller in controllers]
        jobs += [partial(read_locked, tree, raw) for raw in raws]
        jobs += [partial(read_capabilities, tree, controller) for controller in controllers]
        left = do_all(jobs, watcher, _DOING)
        self._devices = {raw.place.id: settled(raw, stuck=at in left) for at, raw in enumerate(raws)}

    def _read_device(self, tree: Tree, raw: RawDevice) -> None:
        read_free(tree, raw, self._known)
        if raw.is_hub:
            self._ports[raw.place.id] = read_ports(tree, raw.place)

    def snapshot(self, tree: Tree) -> Snapshot:
        devices = [make_device(raw) for raw in self._devices.values()]
        troubles = [Unreadable(where=name, reason="vanished") for name in self._index.astray]
        controllers = self._make_controllers(devices, troubles)
        kinds = {c.id: c for c in controllers}
        sockets: list[Socket] = []
        for device in devices:
            if device.hub is not None:
                made, more = make_sockets(self._side(device, kinds), self._ports.get(device.id, []))
                sockets += made
                troubles += more
        return Snapshot(
            system=read_system(tree),
            controllers=tuple(controllers),
            sockets=tuple(sorted(sockets, key=lambda s: in_order(s.id))),
            devices=tuple(devices),
            unreadable=tuple(troubles),
        )

    def _make_controllers(self, devices: list[Device], troubles: list[Unreadable]) -> list[Controller]:
        controllers = []
        for identifier in sorted(self._controllers, key=natural_key):
            words = " ".join(
                f"{d.manufacturer or ''} {d.product or ''}" for d in devices if d.root and d.parent == identifier
            )
            controller, more = make_controller(self._controllers[identifier], words)
            controllers.append(controller)
            troubles += more
        return controllers

    def _side(self, device: Device, controllers: dict[str, Controller]) -> HubSide:
        root = self._devices.get(f"usb{device.id.partition('-')[0]}") if not device.root else None
        place: DevicePlace | None = self._devices[device.id].place if device.root else (root.place if root else None)
        controller = controllers.get(place.parent) if place is not None else None
        return HubSide(
            id=device.id,
            is_super=None if device.speed is None else device.is_super,
            controller=controller.kind if controller is not None else None,
            ports=device.hub.ports if device.hub is not None else None,
        )
