"""Signs in macOS' log text: the unified log in its default, compact and Console forms, dmesg, and the older wording.

Sources: lines in public reports (IOUSBHostFamily, usbd, IOUSBFamily, diskarbitrationd), Apple's
IOUSBHostFamilyDefinitions.h for errors and port status. Wording that was never seen in a public line is marked
`from memory`. A sign's place is the location id a line names (`0x14100000`), else `-`; `macos_…` is the raw kind.
"""

import re
from collections.abc import Iterable

from wizard.bus.sign import Sign
from wizard.observe.kernel_log_fold import Fold
from wizard.observe.macos.places import place_in

_LOCATION = re.compile(
    rb"@([0-9a-fA-F]{8})\b|(?:[Hh]ub|[Dd]evice|overcurrent|location(?:ID)?) (?:at |= ?)?0x([0-9a-fA-F]{5,8})\b"
)
_PORT_OF_HUB = re.compile(rb"\(Port (\d{1,2}) of Hub at 0x([0-9a-fA-F]{5,8})\)")
_STAMP = re.compile(
    rb"^(?:\w+\t)?(\d{4}-\d\d-\d\d[ T]\d\d:\d\d:\d\d(?:\.\d{1,6})?(?:[+-]\d{4})?"
    rb"|\d\d:\d\d:\d\d(?:\.\d{1,6})?(?:[+-]\d{4})?"
    rb"|\d{1,2}/\d{1,2}/\d{2,4},? \d{1,2}:\d\d:\d\d(?:\.\d{1,3})?(?: [AP]M)?"
    rb"|[A-Z][a-z]{2} [ \d]\d \d\d:\d\d:\d\d|\[ *\d+\.\d+\]|USBF:\t *\d+\. *\d+)"
)
_LONGEST_LINE = 4000
_MARK = re.compile(
    rb"AppleUSB|IOUSB|USBMSC|USBF:|usbd\b|USBAgent|XHCIPort|diskarbitrationd|Disk Not Ejected|IOAccessory"
)

Rule = tuple[re.Pattern[bytes], str, tuple[str, ...]]


def _rule(pattern: bytes, raw: str, *kinds: str) -> Rule:
    return re.compile(pattern), raw, kinds


_RULES: tuple[Rule, ...] = (
    _rule(
        rb"overcurrent detected|portOverCurrent|(?i:over-?current) (?:at|condition|notification)",
        "over_current",
        "over_current",
    ),
    _rule(
        # Apple's names of the errors; the wording around them from memory
        rb"0xe0005001|kUSBHostReturnNoPower|0xe00002e3|kIOReturnNoPower|(?i:failedrequestedpower"
        rb"|(?:not enough|insufficient) (?:bus )?power|needs more power|USB (?:Accessories|Devices) Disabled)",
        "no_power",
        "no_bus_power",
    ),
    _rule(
        # from memory: no public line was found
        rb"(?i:hub count (?:limit )?exceeded|too many hubs|hubs? (?:is |are )?(?:nested |connected )?too deep"
        rb"|exceeds? (?:the )?(?:maximum )?(?:tier|hub) (?:limit|depth|count)|tier limit|HubCountExceeded)",
        "hub_count",
        "hub_too_deep",
    ),
    _rule(
        rb"persistent enumeration failures|gave up enumerating|was not able to enumerate",
        "gave_up",
        "enumeration_failed",
    ),
    _rule(rb"having trouble enumerating", "trouble_enumerating", "enumeration_failed"),
    _rule(
        # from memory
        rb"(?i:(?:failed to|unable to|could not) (?:get|read|retrieve)[^\n]{0,40}(?:device|configuration) descriptor)",
        "descriptor",
        "descriptor_read_failed",
    ),
    _rule(
        # from memory
        rb"(?i:(?:failed to|unable to|could not) set (?:the )?(?:device )?address|setAddress[^\n]{0,40}fail)",
        "address",
        "address_failed",
    ),
    _rule(rb"capability descriptors are missing", "bos_missing", "descriptor_odd"),
    _rule(
        rb"could not open provider[^\n]{0,120}exclusive access|already opened for exclusive access",
        "exclusive",
        "access_refused",
    ),
    # from memory
    _rule(rb"(?i:port (?:reset|failed to reset)[^\n]{0,30}(?:fail|timed? ?out))", "port_reset", "port_reset_failed"),
    _rule(rb"0xe0005000|kUSBHostReturnPipeStalled|(?i:pipe stalled)", "stall", "transfer_error"),
    _rule(rb"0xe00002ed|kIOReturnNotResponding|(?i:device (?:is )?not responding)", "not_responding", "transfer_error"),
    _rule(rb"(?i:not enough bandwidth|kIOReturnNoBandwidth|0xe00002ec)", "no_bandwidth", "no_bandwidth"),
    _rule(
        # from memory
        rb"(?i:(?:kIOReturnNoResources|0xe00002be)[^\n]{0,80}(?:endpoint|slot)|no (?:more )?(?:device )?slots?)",
        "no_resources",
        "no_controller_resources",
    ),
    _rule(
        # from memory
        rb"(?i:controller (?:has )?(?:died|halted|is dead)|host controller error)",
        "controller",
        "controller_error",
    ),
    _rule(
        rb"Disk Not Ejected Properly|removed disk[^\n]{0,80}kind = disk disappeared",
        "not_ejected",
        "storage_offline",
        "disconnect",
    ),
    _rule(rb"removed disk, id =", "disk_removed", "disconnect"),
    _rule(rb"(?i:disk\d+(?:s\d+)?: I/O error)", "io_error", "storage_io_error"),
    _rule(rb"terminateDevice: destroying|AppleUSBHostPort::willTerminate: *$", "terminated", "disconnect"),
    _rule(rb"enumerateDeviceComplete_block_invoke: enumerated", "enumerated", "connect"),
)
"""Pattern, raw kind without `macos_`, and the signs it stands for; the first that matches counts."""


class MacLog:
    """Collects signs line by line, in flat memory."""

    def __init__(self) -> None:
        self._fold = Fold()
        self._number = 0

    def take(self, lines: Iterable[bytes]) -> None:
        """Read whole lines."""
        for line in lines:
            self._number += 1
            if _MARK.search(line) or b"disk" in line:
                self._line(line[:_LONGEST_LINE])

    def signs(self) -> tuple[Sign, ...]:
        """All signs, in the order they first came."""
        return tuple(entry.sign() for entry in self._fold.entries())

    def _line(self, line: bytes) -> None:
        for pattern, raw, kinds in _RULES:
            if pattern.search(line):
                for kind in (f"macos_{raw}", *kinds):
                    self._fold.add(kind, _where(line), self._number, _stamp(line), line)
                return


def _where(line: bytes) -> str:
    port = _PORT_OF_HUB.search(line)
    if port is not None:
        hub = place_in(port[2].decode("ascii"))
        return "-" if hub is None else hub.socket(int(port[1])).text
    match = _LOCATION.search(line)
    place = place_in((match[1] or match[2]).decode("ascii")) if match else None
    return place.text if place is not None else "-"


def _stamp(line: bytes) -> str | None:
    match = _STAMP.match(line)
    return match[1].decode("ascii", "replace").strip("[] ") if match else None


def is_mac_log(head: bytes) -> bool:
    """Whether the first lines of a text are macOS' own: names of its USB classes, which no Linux kernel prints."""
    return _MAC_ONLY.search(head) is not None


_MAC_ONLY = re.compile(
    rb"AppleUSB|IOUSB(?:Host|Family|Device)|USBF:\t|XHCIPort@|kernel: \(IOUSB|\busbd\b.*USBDaemon|diskarbitrationd|"
    rb"system_profiler\[|IOAccessoryManager|com\.apple\.(?:usb|iokit)"
)
