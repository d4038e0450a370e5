"""Two ways to list the bus quickly: from what Linux shows of itself, and through libusb elsewhere.

Of a device only what can be read without ever waiting for it or for its hub: a device that does not answer
keeps its hub locked for minutes, and some attributes of the hub then wait as long (see patience).
"""

from collections.abc import Callable
from pathlib import Path

from wizard.observe.sysfs.disk import DiskTree
from wizard.observe.sysfs.index import LISTING, is_device, socket_id
from wizard.observe.sysfs.tree import Reading, Tree, read_one
from wizard.observe.usb_port import Listed, UsbPort, open_port
from wizard.observe.watch_polling import Present, Roll
from wizard.observe.words import number_in, text_of

_FREE = ("devnum", "speed", "maxchild", "power/runtime_status")
"""Attributes that the kernel gives without taking the lock of a device (drivers/usb/core/sysfs.c, Linux 6.1)."""

_MOST_PORTS = 127  # as many addresses a bus has (USB 2.0 §4.1.1 and §9.4.6)
_HUB_CLASS = 9  # USB 2.0 §11.23.1

# enum libusb_speed (libusb.h), in Mbit/s
_MBPS = {1: 1.5, 2: 12.0, 3: 480.0, 4: 5000.0, 5: 10_000.0, 6: 20_000.0}


def running_system() -> Tree:
    """The system this program runs on. A tree remembers where links lead, so each listing needs a new one."""
    return DiskTree(Path("/"))


class SysfsLister:
    """The bus as Linux lists it in `sys/bus/usb/devices` of a tree."""

    def __init__(self, tree: Callable[[], Tree] = running_system) -> None:
        self._tree = tree

    def take(self) -> Roll | None:
        """Every device with what can be read of it at once; None if there is no such listing."""
        tree = self._tree()
        names = [name for name in tree.names(LISTING) if is_device(name)]
        roll = {name: _present(tree, name) for name in names}
        # A device without a number left while it was read.
        return {name: one for name, one in roll.items() if one.address is not None} if tree.is_folder(LISTING) else None


def _present(tree: Tree, name: str) -> Present:
    found: dict[str, Reading] = {}
    tree.read_into(found, f"{LISTING}/{name}", _FREE)
    raw = {key: value for key, value in found.items() if isinstance(value, bytes)}
    ports = number_in(raw.get("maxchild", b"")) or 0
    speed = text_of(raw.get("speed", b""))
    return Present(
        address=number_in(raw.get("devnum", b"")),
        mbps=float(speed) if speed.replace(".", "", 1).isdigit() and len(speed) < 8 else None,
        state=text_of(raw.get("power/runtime_status", b"")) or None,
        over_current=_trips(tree, name, min(ports, _MOST_PORTS)),
    )


def _trips(tree: Tree, hub: str, ports: int) -> dict[str, int]:
    """How often each socket of a hub was shut off for too much current since it was set up."""
    interface = f"{hub[3:]}-0:1.0" if hub.startswith("usb") else f"{hub}:1.0"
    counts = {}
    for port in range(1, ports + 1):
        raw = read_one(tree, f"{LISTING}/{hub}/{interface}/{hub}-port{port}/over_current_count")
        number = number_in(raw) if isinstance(raw, bytes) else None
        if number is not None:
            counts[socket_id(hub, port)] = number
    return counts


class LibusbLister:
    """The bus as libusb lists it, with the ids that a look gives them (wizard.observe.libusb)."""

    def __init__(self, port: UsbPort | None = None) -> None:
        self._port = port or open_port()

    def take(self) -> Roll | None:
        """Every device; None if libusb does not work here."""
        if self._port is None:
            return None
        roll: dict[str, Present] = {}
        for one in sorted(self._port.listed(), key=lambda one: (one.bus, one.ports, one.address)):
            name = _name(one)
            # macOS may give both halves of a USB 3 hub the same path.
            roll[name if name not in roll else f"{name}?{one.address}"] = Present(
                address=one.address, mbps=_MBPS.get(one.speed_code)
            )
        return roll


def _name(one: Listed) -> str:
    if one.ports:
        return f"{one.bus}-" + ".".join(map(str, one.ports))
    return f"usb{one.bus}" if one.blob[4:5] == bytes([_HUB_CLASS]) else f"{one.bus}-?{one.address}"
