"""Signs from Windows' device list and events: the raw kind (`windows_problem_43`, `windows_event_411`) and, at the
same place, what its published meaning stands for. Repeats fold. Judges nothing.
"""

from collections.abc import Iterable, Sequence

from wizard.bus.sign import Sign
from wizard.observe.kernel_log_fold import Fold
from wizard.observe.windows.devices import WinDevice
from wizard.observe.windows.event_kinds import EVENTS, OTHER_STORAGE, has_trouble
from wizard.observe.windows.events import WinEvent
from wizard.observe.windows.places import is_usb
from wizard.observe.windows.problems import (
    CONNECTIONS,
    DELIBERATE,
    PROBLEMS,
    failed_enumeration,
    kinds_of_problem,
)

_USB_CLASS = "36fc9e60-c465-11cf-8056-444553540000"
_INSIDE = ("VEN_NVME", "VEN_VMWARE", "VEN_MSFT", "VEN_RED_HAT", "VEN_QEMU")
"""Makers of SCSI disks that are not on USB: NVMe drives, and disks of virtual machines."""
_NO_PLACE = "-"


class WindowsSigns:
    """Collects signs. `devices` is the device list that belongs to the events, if there is one: it tells whether a
    SCSI disk hangs on USB; `not_usb_disks` are disk numbers known to hang elsewhere."""

    def __init__(
        self,
        devices: Iterable[WinDevice] = (),
        not_usb_disks: frozenset[int] = frozenset(),
        other_letters: frozenset[str] = frozenset(),
    ) -> None:
        self._fold = Fold()
        self._devices = {device.key: device for device in devices}
        self._not_usb_disks = not_usb_disks
        self._other_letters = other_letters
        self.left_out = 0

    def device(self, device: WinDevice) -> None:
        """Take in one entry of the device list."""
        troubled = bool(device.problem) or device.connection not in (None, *DELIBERATE)
        if not troubled:
            return
        if not self._on_usb(device.instance_id, device):
            self.left_out += 1
            return
        text = self._words(device)
        if device.problem:
            self._add(f"windows_problem_{device.problem}", device.instance_id, device.line, None, text)
            for kind in kinds_of_problem(
                device.problem, device.instance_id, device.hardware_ids, device.problem_status
            ):
                self._add(kind, device.instance_id, device.line, None, text)
        if device.connection is not None and device.connection not in DELIBERATE:
            meaning = CONNECTIONS.get(device.connection)
            self._add(f"windows_connection_{device.connection}", device.instance_id, device.line, None, text)
            for kind in meaning.kinds if meaning else ():
                self._add(kind, device.instance_id, device.line, None, text)

    def event(self, event: WinEvent) -> None:
        """Take in one event."""
        known = EVENTS.get(event.provider, {})
        where = self._place(event)
        if event.provider in OTHER_STORAGE or event.number not in known or where is None:
            self.left_out += 1
            return
        text = event.message or f"{event.provider} {event.number}"
        self._add(f"windows_event_{event.number}", where, event.line, event.stamp, text)
        if event.problem:
            self._add(f"windows_problem_{event.problem}", where, event.line, event.stamp, text)
        for kind in self._kinds(event, known[event.number], where):
            self._add(kind, where, event.line, event.stamp, text)

    def signs(self) -> tuple[Sign, ...]:
        """All signs, in the order they first came."""
        return tuple(entry.sign() for entry in self._fold.entries())

    def _add(self, kind: str, where: str, line: int, stamp: str | None, text: str) -> None:
        self._fold.add(kind, where, line, stamp, text.encode("utf-8", "replace"))

    def _words(self, device: WinDevice) -> str:
        told = [device.name or device.class_name or "", device.problem_text or ""]
        if device.problem:
            meaning = PROBLEMS.get(device.problem)
            told.append(f"problem code {device.problem}" + (f": {meaning.words}" if meaning else ""))
        return ", ".join(part for part in told if part)

    def _kinds(self, event: WinEvent, kinds: Sequence[str], where: str) -> Sequence[str]:
        if event.problem:
            device = self._devices.get(where.upper())
            return kinds_of_problem(event.problem, where, device.hardware_ids if device else (), event.status)
        if event.provider == "partition":
            return ("disconnect",) if event.failed else ("connect",)
        if event.provider == "userpnp" and event.failed:
            return ("driver_failed",)
        failed = failed_enumeration(where)
        if failed and "driver_failed" in kinds:
            return (*(kind for kind in kinds if kind != "driver_failed"), *failed)
        return kinds if has_trouble(event.provider, event.number, event.message) else ()

    def _place(self, event: WinEvent) -> str | None:
        """Where it belongs; None if it is not about USB for certain. A disk whose bus nothing tells counts."""
        if event.where is not None:
            device = self._devices.get(event.where.upper())
            usb = self._on_usb(event.where, device) or self._is_controller(event)
            return event.where if usb else None
        if event.disk is not None:
            return None if event.disk in self._not_usb_disks else f"disk {event.disk}"
        if event.volume is not None:
            return None if event.volume.upper() in self._other_letters else event.volume
        return None if event.provider in ("kernel-pnp", "userpnp", "driverframeworks-usermode") else _NO_PLACE

    def _on_usb(self, where: str, device: WinDevice | None) -> bool:
        if is_usb(where) or where.upper().startswith(("PCIROOT(", "ACPI(")):
            return True
        if device is None:
            # A SCSI disk may talk UAS over USB; nothing says that it does not.
            name = where.upper()
            return name.startswith("SCSI\\DISK") and not any(maker in name for maker in _INSIDE)
        parent = self._devices.get((device.parent or "").upper())
        return device.is_usb or is_usb(device.parent or "") or (parent is not None and parent.is_controller)

    def _is_controller(self, event: WinEvent) -> bool:
        usb_class = (event.class_guid or "").strip("{}").lower() == _USB_CLASS
        return usb_class or (event.service or "").lower() in ("usbxhci", "usbehci", "usbohci", "usbuhci", "uaspstor")
