"""A look at the bus through libusb, where Linux's files do not exist: Windows and macOS.

libusb tells the bus, the path of sockets, the speed and the descriptors. It does not tell which driver
has a device, which alternate setting is in use, sockets left empty, power saving or over-current; those
stay unknown. Names and the configuration in use need the device opened, which the system often
refuses; then they stay unknown too. Socket numbers are the system's own.
"""

import platform
from collections.abc import Sequence
from functools import partial

from wizard.bus.class_formats import parse_formats
from wizard.bus.descriptors import Configuration, Described, parse_descriptors
from wizard.bus.errors import CancelledError
from wizard.bus.model import (
    MBPS,
    Controller,
    Device,
    Hub,
    Snapshot,
    Socket,
    Speed,
    System,
    Unreadable,
)
from wizard.bus.tree import natural_key
from wizard.observe.labels import label, root_label
from wizard.observe.notes import NO_BUS, notes_on
from wizard.observe.patience import do_all
from wizard.observe.seen import Seen, Watcher
from wizard.observe.usb_port import Answers, Listed, UsbPort, open_port
from wizard.observe.words import clean

NO_LIBUSB = "USB can't be looked at here: the library for it (libusb) does not work on this system."
LESS = (
    "This system tells less than others: drivers, empty sockets and power saving stay unknown, "
    "and so do the names of devices it does not let us open."
)

_SPEEDS: dict[int, tuple[Speed, float]] = {
    # enum libusb_speed (libusb.h)
    1: ("low", MBPS["low"]),
    2: ("full", MBPS["full"]),
    3: ("high", MBPS["high"]),
    4: ("super", MBPS["super"]),
    5: ("super_plus", MBPS["super_plus"]),
    6: ("super_plus", 20000.0),
}
_HUB_CLASS = 9  # USB 2.0 §11.23.1
_DOING = "Looking at what is plugged in"


def look(watcher: Watcher | None = None, port: UsbPort | None = None) -> Seen:
    """Look through libusb, or through a given port to it. Raises CancelledError if told to stop."""
    watching = watcher or Watcher()
    watching.progress("Searching for USB controllers", None)
    usb = port or open_port()
    if usb is None:
        return Seen(Snapshot(system=_system()), (NO_LIBUSB,))
    listed = []
    for one in usb.listed():
        if watching.cancelled():
            raise CancelledError(_DOING)
        listed.append(one)
    answers = _ask_all(listed, watching)
    snapshot = _snapshot(_placed(listed), answers)
    notes = notes_on(snapshot)
    return Seen(snapshot, (*notes, LESS) if listed else (*notes, NO_BUS))


def _ask_all(listed: Sequence[Listed], watcher: Watcher) -> dict[tuple[int, int], Answers]:
    """What the devices answer that can be opened, by bus and address; one that hangs is left behind."""
    answers: dict[tuple[int, int], Answers] = {}

    def ask(one: Listed) -> None:
        answers[one.bus, one.address] = one.ask()

    left = do_all([partial(ask, one) for one in listed], watcher, _DOING)
    told = dict(answers)
    for number in left:
        told.setdefault((listed[number].bus, listed[number].address), Answers(refused="blocked"))
    return told


def _placed(listed: Sequence[Listed]) -> dict[str, Listed]:
    """Each device by its id. One without a path is a root hub if it is a hub; else its place is unknown."""
    placed: dict[str, Listed] = {}
    for one in sorted(listed, key=lambda one: (one.bus, one.ports, one.address)):
        if one.ports:
            identifier = f"{one.bus}-" + ".".join(map(str, one.ports))
        elif one.blob[4:5] == bytes([_HUB_CLASS]):
            identifier = f"usb{one.bus}"
        else:
            identifier = f"{one.bus}-?{one.address}"
        # macOS may give both halves of a USB 3 hub the same path.
        placed[identifier if identifier not in placed else f"{identifier}?{one.address}"] = one
    return placed


def _snapshot(placed: dict[str, Listed], answers: dict[tuple[int, int], Answers]) -> Snapshot:
    devices = [
        _device(identifier, one, answers.get((one.bus, one.address), Answers())) for identifier, one in placed.items()
    ]
    buses = sorted({one.bus for one in placed.values()})
    present = {device.id for device in devices}
    devices += [_bare_root(bus) for bus in buses if f"usb{bus}" not in present]
    devices.sort(key=lambda device: natural_key(device.id))
    return Snapshot(
        system=_system(),
        controllers=tuple(_controller(bus, devices) for bus in buses),
        sockets=tuple(
            Socket(id=device.id, hub=device.parent, usable=True)
            for device in devices
            if not device.root and device.parent is not None and "?" not in device.id
        ),
        devices=tuple(devices),
    )


def _device(identifier: str, one: Listed, answers: Answers) -> Device:
    root = identifier == f"usb{one.bus}"
    speed = _SPEEDS.get(one.speed_code)
    described = parse_descriptors(one.blob, speed[0] if speed else None, f"{identifier}/descriptors")
    active = _active(described, answers.configuration)
    head = described.device
    class_code = head.class_code if head else None
    interfaces = active.interfaces if active else ()
    product = clean(answers.product) or None if answers.product else None
    return Device(
        id=identifier,
        parent=f"bus-{one.bus}" if root else _parent(one),
        root=root,
        hub=_hub(root, described, speed[0] if speed else None),
        vid=head.vid if head else None,
        pid=head.pid if head else None,
        release=head.release if head else None,
        class_code=class_code,
        speed=speed[0] if speed else None,
        mbps=speed[1] if speed else None,
        usb_version=head.usb_version if head else None,
        max_power_ma=active.max_power_ma if active and speed else None,
        self_powered=active.self_powered if active else None,
        configuration=answers.configuration,
        interfaces=interfaces,
        formats=tuple(f for f in parse_formats(one.blob) if active is not None and f.configuration == active.value),
        name=root_label(identifier) if root else label(product, class_code, interfaces, None),
        manufacturer=clean(answers.manufacturer) or None if answers.manufacturer else None,
        product=product,
        serial=clean(answers.serial) or None if answers.serial else None,
        unreadable=_troubles(identifier, one, described, answers),
    )


def _active(described: Described, configuration: int | None) -> Configuration | None:
    """The configuration in use; where that is not told and there is only one, that one."""
    if configuration is not None:
        return described.configuration(configuration)
    return described.configurations[0] if len(described.configurations) == 1 else None


def _parent(one: Listed) -> str | None:
    if not one.ports:
        return None
    above = ".".join(map(str, one.ports[:-1]))
    return f"{one.bus}-{above}" if above else f"usb{one.bus}"


def _hub(root: bool, described: Described, speed: Speed | None) -> Hub | None:
    """A hub that can run its translators either way is left open: the mode in use is not told."""
    device = described.device
    if not root and (device is None or device.class_code != _HUB_CLASS):
        return None
    if root or (speed is not None and speed != "high"):
        return Hub(translator="none")
    single = speed == "high" and device is not None and device.protocol == 1  # USB 2.0 §11.23.1
    return Hub(translator="single" if single else None)


def _troubles(identifier: str, one: Listed, described: Described, answers: Answers) -> tuple[Unreadable, ...]:
    troubles = list(described.problems)
    if one.trouble is not None:
        troubles.append(Unreadable(where=f"{identifier}/descriptors", reason=one.trouble))
    if answers.refused in ("vanished", "blocked"):
        troubles.append(Unreadable(where=identifier, reason=answers.refused))
    # Not being let in is the rule on these systems and says nothing about the device.
    return tuple(troubles)


def _bare_root(bus: int) -> Device:
    """The root hub of a bus on which the system lists none."""
    identifier = f"usb{bus}"
    return Device(
        id=identifier, parent=f"bus-{bus}", root=True, hub=Hub(translator="none"), name=root_label(identifier)
    )


def _controller(bus: int, devices: Sequence[Device]) -> Controller:
    """libusb does not name controllers; one that runs a device at SuperSpeed is an xHCI (xHCI 1.2 §1)."""
    fast = any(d.is_super for d in devices if d.id == f"usb{bus}" or d.id.startswith(f"{bus}-"))
    return Controller(id=f"bus-{bus}", kind="xhci" if fast else "other")


def _system() -> System:
    """What Python tells of the system; the host's name is not asked for."""
    names = {"Windows": "windows", "Darwin": "macos", "Linux": "linux"}
    mac = platform.mac_ver()[0]
    return System(
        os=names.get(platform.system()),
        version=mac or platform.version() or None,
        kernel=platform.release() or None,
    )
