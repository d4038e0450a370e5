"""The machines of the laboratory: which devices each has, and which program runs in it.

Devices are QEMU's own (docs/system/devices/usb of QEMU); the drives' contents are made here, from published formats.
"""

from __future__ import annotations

import struct
from functools import partial
from pathlib import Path

from lab import far_hub
from lab.machine import BARE, DRIVERS, Boot

CYCLES, OVERRUN = 500, 90
REFUSED = 8
SLOTS = 64  # what QEMU's xHCI reports (MAXSLOTS in hw/usb/hcd-xhci.h, QEMU 7.2)
HUBS_DEEP = 5  # as many as allowed: USB 2.0 §4.1.1

_SECTOR = 512
_IMAGE = 4 << 20

hotplug = Boot("hotplug.py", drivers=("vhci-hcd",), counted=True, arguments=(str(CYCLES), str(OVERRUN)))
emulating = Boot("emulating.py", drivers=("vhci-hcd", "evdev", "usbhid", "hid-generic"), counted=True)


def _device(name: str, **options: object) -> list[str]:
    given = "".join(f",{key.replace('_', '-')}={value}" for key, value in options.items())
    return ["-device", f"{name}{given}"]


def crowd() -> Boot:
    """Eight hubs full of mice: with the hubs, more than an xHCI has slots for."""
    devices = _device("qemu-xhci", id="x", p2=9)
    for hub in range(1, 9):
        devices += _device("usb-hub", bus="x.0", port=hub, ports=8)
        devices += [part for n in range(1, 9) for part in _device("usb-mouse", bus="x.0", port=f"{hub}.{n}")]
    return Boot("crowd.py", devices, drivers=BARE)


def desk(folder: Path) -> Boot:
    """Input devices on UHCI, a chain of hubs that is too deep on another, drives on EHCI and xHCI, sound on a second
    xHCI whose bus time the kernel itself keeps. Drive images are written to FOLDER."""
    devices = [
        *_device("piix3-usb-uhci", id="u"),
        *_device("usb-hub", bus="u.0", port=1, ports=8),
        *_device("usb-kbd", bus="u.0", port="1.1"),
        *_device("usb-mouse", bus="u.0", port="1.2"),
        *_device("usb-tablet", bus="u.0", port="1.3"),
        *_device("usb-kbd", bus="u.0", port=2),
        *_device("piix3-usb-uhci", id="d"),
        *(part for n in range(1, HUBS_DEEP + 1) for part in _device("usb-hub", bus="d.0", port=".".join("1" * n))),
        *("-chardev", f"socket,id=far,path={folder / 'far'},server=on,wait=off"),
        *_device("usb-redir", chardev="far", bus="d.0", port=".".join("1" * (HUBS_DEEP + 1))),
        *_device("usb-ehci", id="e"),
        *_device("usb-mouse", bus="e.0", port=2),
        *_device("qemu-xhci", id="x", p2=8, p3=8),
        *_device("qemu-xhci", id="s", p2=4, p3=4),
        *("-audiodev", "none,id=silence"),
        *_device("usb-hub", bus="s.0", port=1, ports=8),
        *_device("usb-audio", audiodev="silence", bus="s.0", port="1.1", multi="on"),
        *_device("usb-audio", audiodev="silence", bus="s.0", port="1.2", multi="on"),
        *_drive(folder, "blank", b"", "e.0", 1),
        *_drive(folder, "strange", partitioned(0x83, b"\xa5" * 65_536), "x.0", 1),
        *_drive(folder, "protected", partitioned(0x0E, fat16()), "x.0", 2, more=",readonly=on"),
        *_drive(folder, "leaving", partitioned(0x0E, fat16()), "x.0", 3, more=",throttling.bps-total=8192"),
    ]
    drivers = tuple(name for name in DRIVERS if name != "vhci-hcd")
    # Bit 8 makes the kernel check the bus time itself, as it does for some real controllers (XHCI_SW_BW_CHECKING,
    # drivers/usb/host/xhci.h); the emulated UHCI does not wake up, so nothing there may fall asleep.
    return Boot(
        "desk.py",
        devices,
        drivers,
        kernel="xhci_hcd.quirks=0x100 usbcore.autosuspend=-1",
        beside=partial(far_hub.serve, folder / "far"),
    )


def _drive(folder: Path, name: str, contents: bytes, bus: str, port: int, more: str = "") -> list[str]:
    image = folder / f"{name}.img"
    image.write_bytes(contents.ljust(_IMAGE, b"\0"))
    return [
        *("-drive", f"if=none,id=on-{name},format=raw,file={image}{more}"),
        *_device("usb-storage", id=name, drive=f"on-{name}", bus=bus, port=port, serial=name, removable="on"),
    ]


def partitioned(kind: int, volume: bytes) -> bytes:
    """A disk with one partition of this type from sector 64 to the end: the table of a PC's first sector."""
    start, count = 64, _IMAGE // _SECTOR - 64
    entry = struct.pack("<B3sB3sII", 0, b"\xfe\xff\xff", kind, b"\xfe\xff\xff", start, count)
    table = bytes(446) + entry + bytes(48) + b"\x55\xaa"
    return table.ljust(start * _SECTOR, b"\0") + volume


def fat16() -> bytes:
    """An empty FAT16 volume: Microsoft's FAT specification of 2000 (first sector, two tables of 32 sectors)."""
    count = _IMAGE // _SECTOR - 64
    geometry = struct.pack("<HBHBHHBHHHII", _SECTOR, 1, 1, 2, 512, count, 0xF8, 32, 63, 16, 64, 0)
    boot = b"\xeb\x3c\x90" + b"LAB     " + geometry + b"\x80\0\x29" + b"\1\2\3\4" + b"LAB        " + b"FAT16   "
    table = (b"\xf8\xff\xff\xff").ljust(32 * _SECTOR, b"\0")
    return boot.ljust(510, b"\0") + b"\x55\xaa" + table * 2
