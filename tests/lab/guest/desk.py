"""In the machine: a desk of emulated devices on UHCI, EHCI and xHCI, looked at by Portmend and by the kernel itself.

Writes to /run/lab the look, the kernel's own listing taken at the same moment, what was found of four drives, and
the kernel's log.
"""

from __future__ import annotations

import fcntl
import os
import struct
import threading
import time
from pathlib import Path

from lab.guest.inside import BUS, KERNEL_LISTING, OUT, ask, device_called, kernel_log, portmend, settle

DRIVES = ("blank", "strange", "protected", "leaving")

_CLAIM, _SET_INTERFACE = 0x8004550F, 0x80085504  # USBDEVFS_CLAIMINTERFACE, USBDEVFS_SETINTERFACE (usbdevice_fs.h)
_STREAM, _WIDEST = 1, 3  # QEMU's sound device: the interface that plays, its setting with eight channels


def play(device: str) -> str:
    """Set a sound device to its widest stream, as a driver does before it plays; what the kernel says to that."""
    folder = BUS / device
    bus, number = (int((folder / name).read_text()) for name in ("busnum", "devnum"))
    handle = os.open(f"/dev/bus/usb/{bus:03}/{number:03}", os.O_RDWR)
    try:
        fcntl.ioctl(handle, _CLAIM, struct.pack("I", _STREAM))
        fcntl.ioctl(handle, _SET_INTERFACE, struct.pack("II", _STREAM, _WIDEST))
    except OSError as refusal:
        return os.strerror(refusal.errno or 0)
    finally:
        # Closing would set it back; it stays open until this program ends.
        held.append(handle)
    return "accepted"


held: list[int] = []
settle()

# Bus time is booked while somebody listens.
listening = [path.open("rb") for path in Path("/dev/input").glob("event*")]
time.sleep(1.0)
(OUT / "kernel.txt").write_text(KERNEL_LISTING.read_text())
portmend("look", "look", "--json")

for name in DRIVES[:-1]:
    portmend(f"drive-{name}", "drive", device_called(name), "--json")

(OUT / "diskstats.txt").write_text(Path("/proc/diskstats").read_text())
leaving = device_called("leaving")
pulling = threading.Timer(1.0, ask, ("device_del",), {"id": "leaving"})
pulling.start()
portmend("drive-leaving", "drive", leaving, "--json")
pulling.join()
portmend("drive-left", "drive", leaving, "--json")

sounds = sorted(path.parent.name for path in BUS.glob("*/product") if path.read_text().strip() == "QEMU USB Audio")
(OUT / "played.txt").write_text("\n".join(f"{device} {play(device)}" for device in sounds))
portmend("look-played", "look", "--json")
kernel_log("log.txt")
