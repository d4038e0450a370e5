"""Where a kernel message is about: reads the words before its colon, such as `usb 1-4.2` or `sd 6:0:0:0`.

The forms are those of Linux (drivers/usb/core/usb.c and hub.c name devices, ports and buses; dev_name()
of PCI and platform devices). Knows nothing of what the message says, but for the port a hub speaks of.
"""

import re
from typing import Literal, NamedTuple

Origin = Literal["device", "hub", "controller", "module", "disk"]


class Place(NamedTuple):
    """A place as the contract writes it, what named it, the naming driver, and where that begins in the head."""

    where: str
    origin: Origin
    driver: bytes
    start: int


PATH = rb"\d{1,3}-[1-9]\d{0,2}(?:\.\d{1,3}){0,6}"
"""A device's path: bus, then the port of each hub on the way."""

_EDGE = rb"(?:^|(?<=[\s:\]>\"|)]))"
# Parts that drivers put between the place and the message: `12:3` (sound), a function, a file system node.
_MIDDLE = rb"(?::\s+(?:\d+:\d+(?::\d+)?|[a-z][\w-]{0,40}(?:\(\))?|PM))*\s*$"
_PORT = re.compile(_EDGE + rb"(?:usb|hub)\s+(?:usb(\d{1,3})|(" + PATH + rb"))-port(\d{1,3})" + _MIDDLE)
_DEVICE = re.compile(
    _EDGE + rb"([A-Za-z][\w.+/-]*)\s+(\d{1,3}-0|" + PATH + rb")(?::\d{1,3}\.\d{1,3})?(?:\s[\w()\s-]{1,60})?" + _MIDDLE
)
_ROOT = re.compile(_EDGE + rb"(usb)\s+(usb\d{1,3})" + _MIDDLE)
_CONTROLLER = re.compile(
    _EDGE
    + rb"([\w-]{0,30}(?:[xeou]hci|hcd|dwc|musb|usb|otg|ci_hdrc|mtu3|cdns|fotg|max3421|r8a66597)[\w-]{0,30})\s+"
    + rb"((?:[0-9a-f]{4}:)?[0-9a-f]{2}:[0-9a-f]{2}\.[0-7]|[\w,@-]{1,60}\.[\w.,@-]{0,60}\w)"
    + _MIDDLE
)
_PCI = re.compile(_EDGE + rb"(pci)\s+((?:[0-9a-f]{4}:)?[0-9a-f]{2}:[0-9a-f]{2}\.[0-7])" + _MIDDLE)
_SCSI = re.compile(_EDGE + rb"(sd|sr|st|sg|ses|scsi)\s*(\d{1,5}:\d{1,5}:\d{1,5}:\d{1,20}|(?:host)?\d{1,5})\s*$")
_MODULE = re.compile(
    _EDGE
    + rb"((?:[\w-]{0,30}usb[\w-]{0,30}|uas|uvcvideo|hub|(?:hub|usb|\w*[ue]hci)\.c|[xeou]hci[\w-]{0,30}|dwc_otg|dwc2"
    + rb"|musb[\w-]{0,30}|usblp\d{0,3}|\S{0,60}hid-core\.c|gspca\w*|em28xx(?:\s\#\d+)?|pwc|cdc_\w+|option1?|qmi_wwan"
    + rb"|r8152|ALSA\s\S{1,60}|(?:[\w-]+\s)?tty(?:USB|ACM)\d{1,3}|hid-[\w-]+\s0003:[0-9A-F:.]{4,20}))"
    + _MIDDLE
)
# A place stands right before its colon, in bytes; farther back nothing is looked for.
_NEAR = 240
# Text that a device itself supplied; it could imitate anything.
_FOREIGN = re.compile(
    rb"(?:Product|Manufacturer|SerialNumber|input):\s|USB HID v|Found UVC|Direct-Access|CD-ROM|idVendor="
)
# Other buses whose devices are called `0-1` too.
_OTHER_BUSES = re.compile(rb"(?:thunderbolt|greybus|i2c[\w-]*|spi[\w-]*|w1\w*|node|nodes|cpus?|soundwire\w*)$", re.I)

_HUB_PORT = re.compile(rb"\bport[\s>]{1,80}(\d{1,3})\b")
_OLD_PATH = re.compile(rb"(?:[0-9a-f]{4}:)?[0-9a-f]{2}:[0-9a-f]{2}\.[0-7]-([1-9]\d{0,2}(?:\.\d{1,3}){0,6})\b")
_OLD_BUS = re.compile(rb"\bbus(\d{1,3})((?:/\d{1,3}){1,7})\b")


def find_place(head: bytes) -> Place | None:
    """The place named at the end of `head` (what stands before the message's colon), or None."""
    if _FOREIGN.search(head):
        return None
    return _usb_place(head) or _scsi_place(head) or _named_module(head)


def _usb_place(head: bytes) -> Place | None:
    near = max(0, len(head) - _NEAR)
    if match := _PORT.search(head, near):
        bus, hub, port = match.groups()
        port_id = b"%b-%b" % (bus, port) if bus else b"%b.%b" % (hub, port)
        return Place(port_id.decode("ascii"), "device", b"usb", match.start())
    if match := _DEVICE.search(head, near):
        driver, path = match.groups()
        if _OTHER_BUSES.match(driver):
            return None
        where = path.decode("ascii")
        if where.endswith("-0"):
            where = f"usb{where[:-2]}"
        return Place(where, "hub" if driver == b"hub" else "device", driver, match.start())
    if match := _ROOT.search(head, near):
        return Place(match[2].decode("ascii"), "device", b"usb", match.start())
    if match := _CONTROLLER.search(head, near):
        return Place(match[2].decode("ascii"), "controller", match[1], match.start())
    return None


def _scsi_place(head: bytes) -> Place | None:
    if match := _SCSI.search(head, max(0, len(head) - _NEAR)):
        address = match[2].decode("ascii")
        return Place(f"host{address}" if address.isdigit() else address, "disk", match[1], match.start())
    return None


def _named_module(head: bytes) -> Place | None:
    match = _MODULE.search(head, max(0, len(head) - _NEAR))
    return Place("-", "module", match[1], match.start()) if match else None


def pci_place(head: bytes) -> Place | None:
    """A PCI function named by the PCI core, as in `pci 0000:00:1d.0: EHCI: BIOS handoff failed`."""
    match = _PCI.search(head, max(0, len(head) - _NEAR))
    return Place(match[2].decode("ascii"), "controller", match[1], match.start()) if match else None


def refined(place: Place, message: bytes) -> str:
    """Where, once the message is known too: a hub names its port there, an old kernel the whole path."""
    if place.origin == "hub" and (match := _HUB_PORT.search(message)):
        hub, port = place.where, match[1].decode("ascii")
        return f"{hub[3:]}-{port}" if hub.startswith("usb") else f"{hub}.{port}"
    if place.origin == "module":
        return _from_message(place, message)
    return place.where


def _from_message(place: Place, message: bytes) -> str:
    if match := _OLD_PATH.search(message):
        return f"?-{match[1].decode('ascii')}"
    if match := _OLD_BUS.search(message):
        ports = match[2][1:].replace(b"/", b".")
        return f"{match[1].decode('ascii')}-{ports.decode('ascii')}"
    if place.driver == b"hub.c" and (match := _HUB_PORT.search(message)):
        return f"?-{match[1].decode('ascii')}"
    return place.where
