"""A plain-words name for a device: what it calls itself, or what sort of thing it is. Knows classes only."""

from collections.abc import Sequence

from wizard.bus.model import Interface

_BY_CLASS: dict[int, str] = {
    # Defined class codes, usb.org; the words are ours
    0x01: "sound device",
    0x02: "modem or serial device",
    0x03: "input device",
    0x05: "force-feedback device",
    0x06: "camera or scanner",
    0x07: "printer",
    0x08: "drive",
    0x09: "hub",
    0x0B: "smart card reader",
    0x0D: "content-security device",
    0x0E: "camera",
    0x0F: "health device",
    0x10: "sound and picture device",
    0x11: "alternate-mode device",
    0xDC: "diagnostic device",
    0xE0: "wireless adapter",
    0xFE: "special-purpose device",
    0xFF: "device of the maker's own kind",
}
_PER_INTERFACE = (0x00, 0xEF)  # the device leaves it to its interfaces: USB 2.0 Table 9-8; IAD ECN
_BOOT_INPUT = {1: "keyboard", 2: "mouse"}  # bInterfaceProtocol of boot devices: HID 1.11 §4.3
_TELLING = (0x0E, 0x01, 0x08, 0x07, 0x06, 0x03, 0x02)  # of several functions, the one people name it by
_LONGEST = 80


def root_label(bus: str) -> str:
    """The name of a root hub, from its id `usbN`."""
    return f"sockets of the PC (bus {bus[3:]})"


def label(product: str | None, class_code: int | None, interfaces: Sequence[Interface], ports: int | None) -> str:
    """The product text if there is one, else the sort of thing, from class codes and interfaces."""
    if product:
        return product if len(product) <= _LONGEST else product[: _LONGEST - 1] + "…"
    if class_code == 0x09:
        return f"hub with {ports} sockets" if ports else "hub"
    if class_code is not None and class_code not in _PER_INTERFACE:
        return _BY_CLASS.get(class_code, "unknown device")
    return _by_interfaces(interfaces)


def _by_interfaces(interfaces: Sequence[Interface]) -> str:
    boots = {i.protocol for i in interfaces if i.class_code == 0x03 and i.subclass == 1}
    inputs = [word for protocol, word in _BOOT_INPUT.items() if protocol in boots]
    classes = [i.class_code for i in interfaces if i.class_code is not None]
    first = next((c for c in _TELLING if c in classes), classes[0] if classes else None)
    if first == 0x03 and inputs:
        return " and ".join(inputs)
    return "unknown device" if first is None else _BY_CLASS.get(first, "unknown device")
