"""Makes trees of files as Linux shows them, device by device, for tests of the observers. Invented devices only.

The layout follows Linux's Documentation/ABI/testing/sysfs-bus-usb and the captures under
`tests/reference/captures`.
"""

import os
from pathlib import Path

from wizard.observe.sysfs.index import socket_id

PCI_CLASS = {"uhci": "0x0c0300", "ohci": "0x0c0310", "ehci": "0x0c0320", "xhci": "0x0c0330"}


def endpoint(address: int, attributes: int, packet: int, interval: int, extra: bytes = b"") -> bytes:
    """An endpoint descriptor: USB 2.0 Table 9-13; `extra` follows it."""
    return bytes([7, 5, address, attributes]) + packet.to_bytes(2, "little") + bytes([interval]) + extra


def interface(number: int, alternate: int, code: tuple[int, int, int], *endpoints: bytes) -> bytes:
    """An interface descriptor with its endpoints: USB 2.0 Table 9-12."""
    return bytes([9, 4, number, alternate, len(endpoints), *code, 0]) + b"".join(endpoints)


def configuration(value: int, attributes: int, power: int, *interfaces: bytes) -> bytes:
    """A configuration descriptor with all that belongs to it: USB 2.0 Table 9-10."""
    body = b"".join(interfaces)
    count = len({part[2] for part in interfaces})
    return b"\x09\x02" + (9 + len(body)).to_bytes(2, "little") + bytes([count, value, 0, attributes, power]) + body


def device(
    code: tuple[int, int, int] = (0, 0, 0),
    *configurations: bytes,
    version: int = 0x0200,
    ids: tuple[int, int] = (0x1209, 0x0001),
    texts: tuple[int, int, int] = (1, 2, 3),
    packet_0: int = 64,
) -> bytes:
    """A device descriptor with its configurations: USB 2.0 Table 9-8."""
    head = b"\x12\x01" + version.to_bytes(2, "little") + bytes([*code, packet_0])
    head += b"".join(word.to_bytes(2, "little") for word in (*ids, 0x0123)) + bytes([*texts, len(configurations)])
    return head + b"".join(configurations)


HUB = device((9, 0, 1), configuration(1, 0xE0, 0, interface(0, 0, (9, 0, 0), endpoint(0x81, 3, 2, 12))))
KEYBOARD = device((0, 0, 0), configuration(1, 0xA0, 50, interface(0, 0, (3, 1, 1), endpoint(0x81, 3, 8, 10))))


class SysfsTree:
    """A tree below `root`; every method writes files and returns the folder it made."""

    def __init__(self, root: Path, *, listing: bool = True) -> None:
        self.root = root
        self.folders: dict[str, Path] = {}
        self._listing = root / "sys/bus/usb/devices" if listing else None
        (root / "sys/devices").mkdir(parents=True)
        if self._listing is not None:
            self._listing.mkdir(parents=True)

    def controller(self, name: str = "0000:00:14.0", kind: str = "xhci") -> Path:
        folder = self.root / "sys/devices/pci0000:00" / name
        folder.mkdir(parents=True)
        ids = {"vendor": "0x1234", "device": "0x5678", "subsystem_vendor": "0x1111", "subsystem_device": "0x2222"}
        for attribute, value in {"class": PCI_CLASS[kind], **ids}.items():
            (folder / attribute).write_text(value + "\n")
        (folder / "driver").symlink_to(f"../../../bus/pci/drivers/{kind}_hcd")
        self.folders[name] = folder
        return folder

    def root_hub(self, number: int = 1, speed: str = "480", ports: int = 4, controller: str = "0000:00:14.0") -> Path:
        if controller not in self.folders:
            self.controller(controller)
        return self._device(f"usb{number}", self.folders[controller], HUB, speed, ports, {"product": "Root"})

    def hub(self, name: str, blob: bytes = HUB, speed: str = "480", ports: int = 4, **attributes: str) -> Path:
        return self._device(name, self._above(name), blob, speed, ports, attributes)

    def device(self, name: str, blob: bytes = KEYBOARD, speed: str = "12", **attributes: str) -> Path:
        texts = {"product": f"Gadget {name}", "manufacturer": "Invented", "serial": f"S{name}"}
        return self._device(name, self._above(name), blob, speed, 0, texts | attributes)

    def _above(self, name: str) -> Path:
        bus, _, ports = name.partition("-")
        above, dot, _ = ports.rpartition(".")
        return self.folders[f"{bus}-{above}" if dot else f"usb{bus}"]

    def _device(self, name: str, above: Path, blob: bytes, speed: str, ports: int, attributes: dict[str, str]) -> Path:
        folder = above / name
        (folder / "power").mkdir(parents=True)
        self.folders[name] = folder
        (folder / "descriptors").write_bytes(blob)
        plain = {
            "speed": speed,
            "maxchild": str(ports),
            "bConfigurationValue": "1",
            "power/control": "auto",
            "power/runtime_status": "active",
            "power/autosuspend_delay_ms": "2000",
            "power/runtime_suspended_time": "0",
            **attributes,
        }
        for attribute, value in plain.items():
            (folder / attribute).write_text(value + "\n")
        self._list(name, folder)
        stem = f"{name[3:]}-0" if name.startswith("usb") else name
        self._interface(folder / f"{stem}:1.0", name, ports)
        return folder

    def _interface(self, folder: Path, owner: str, ports: int) -> None:
        folder.mkdir()
        (folder / "bAlternateSetting").write_text(" 0\n")
        (folder / "driver").symlink_to("../" * 6 + f"bus/usb/drivers/{'hub' if ports else 'usbhid'}")
        for number in range(1, ports + 1):
            port = folder / f"{owner}-port{number}"
            port.mkdir()
            (port / "connect_type").write_text("hotplug\n")
            (port / "over_current_count").write_text("0\n")
        self._list(folder.name, folder)

    def _list(self, name: str, folder: Path) -> None:
        if self._listing is not None:
            (self._listing / name).symlink_to(os.path.relpath(folder, self._listing))

    def port(self, hub: str, number: int) -> Path:
        """The folder of one socket of a hub."""
        stem = f"{hub[3:]}-0" if hub.startswith("usb") else hub
        return self.folders[hub] / f"{stem}:1.0" / f"{hub}-port{number}"


def full_bus(root: Path, devices: int = 127) -> SysfsTree:
    """One bus with as many devices as it has addresses, hubs in hubs, at most five deep."""
    tree = SysfsTree(root)
    tree.root_hub(1, ports=8)
    hubs, made, depth = ["usb1"], 1, {"usb1": 0}
    while made < devices:
        hub = hubs.pop(0)
        for port in range(1, 9 if hub == "usb1" else 5):
            name = socket_id(hub, port)
            if made == devices:
                break
            made += 1
            if depth[hub] < 4 and port <= 2:
                tree.hub(name)
                depth[name] = depth[hub] + 1
                hubs.append(name)
            else:
                tree.device(name)
    return tree
