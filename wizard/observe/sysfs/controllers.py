"""The host controllers above the root hubs, as Linux describes them. Knows folders and PCI codes.

A controller's id is the name of the folder its buses lie in: `0000:00:14.0` or `xhci-hcd.2.auto`.
"""

import re
from dataclasses import dataclass, field

from wizard.bus.model import Controller, ControllerKind, Pci, Unreadable
from wizard.observe.sysfs.tree import Reading, Tree, read_one
from wizard.observe.words import text_of

_PCI_NAME = re.compile(r"[0-9a-f]{4,8}:[0-9a-f]{2}:[0-9a-f]{2}\.[0-7]")
_KINDS: tuple[ControllerKind, ...] = ("uhci", "ohci", "ehci", "xhci")
_INTERFACES: dict[int, ControllerKind] = {
    # Programming interface of PCI class 0x0c03: PCI Code and ID Assignment Specification, §1.13
    0x00: "uhci",
    0x10: "ohci",
    0x20: "ehci",
    0x30: "xhci",
}
_ATTRIBUTES = ("class", "vendor", "device", "subsystem_vendor", "subsystem_device")


@dataclass
class RawController:
    """What the folder of a controller told. `late` may wait: reading registers wakes a sleeping controller."""

    id: str
    path: str
    attributes: dict[str, Reading] = field(default_factory=dict)
    late: dict[str, Reading] = field(default_factory=dict)
    driver: str | None = None


def read_controller(tree: Tree, raw: RawController) -> None:
    """Read what never waits."""
    target = tree.link(f"{raw.path}/driver")
    raw.driver = text_of(target.rpartition("/")[2].encode(errors="replace")) if target else None
    if _PCI_NAME.fullmatch(raw.id):
        tree.read_into(raw.attributes, raw.path, _ATTRIBUTES)


def read_capabilities(tree: Tree, raw: RawController) -> None:
    """Read an xHCI controller's capability registers, which the kernel shows to the administrator only."""
    raw.late["reg-cap"] = read_one(tree, f"sys/kernel/debug/usb/xhci/{raw.id}/reg-cap")


def make_controller(raw: RawController, hub_words: str) -> tuple[Controller, tuple[Unreadable, ...]]:
    """The controller; `hub_words` is what its root hubs call themselves, the last resort for its kind."""
    troubles: list[Unreadable] = []
    values = {name: _hex(raw, name, troubles) for name in raw.attributes}
    kind = _kind(raw.driver or "") or _kind_by_class(values.get("class")) or _kind(hub_words) or "other"
    controller = Controller(
        id=raw.id,
        kind=kind,
        pci=_pci(values),
        driver=raw.driver,
        slot_limit=_slots(raw.late.get("reg-cap")) if kind == "xhci" else None,
    )
    return controller, tuple(troubles)


def _kind(words: str) -> ControllerKind | None:
    """`ehci-pci`, `xhci_hcd`, `UHCI Host Controller`; not `vhci_hcd`."""
    return next((kind for kind in _KINDS if kind in words.lower()), None)


def _kind_by_class(value: str | None) -> ControllerKind | None:
    if value is None or not value.startswith("0c03"):
        return None
    return _INTERFACES.get(int(value[4:6] or "ff", 16))


def _hex(raw: RawController, name: str, troubles: list[Unreadable]) -> str | None:
    """Hexadecimal digits of an attribute such as `0x8086`, without the prefix."""
    reading = raw.attributes[name]
    if isinstance(reading, bytes):
        match = re.fullmatch(r"0x([0-9a-f]{4,6})", text_of(reading).lower())
        if match:
            return match[1]
        troubles.append(Unreadable(where=f"{raw.id}/{name}", reason="garbled", detail="not a number"))
    elif reading is not None:
        troubles.append(Unreadable(where=f"{raw.id}/{name}", reason=reading))
    return None


def _pci(values: dict[str, str | None]) -> Pci | None:
    vendor, device = values.get("vendor"), values.get("device")
    parts = (values.get("subsystem_vendor"), values.get("subsystem_device"))
    if vendor is None and device is None:
        return None
    return Pci(vendor=vendor, device=device, subsystem=":".join(p for p in parts if p) if all(parts) else None)


def _slots(reading: Reading | None) -> int | None:
    """Number of device slots: HCSPARAMS1 bits 7..0 (xHCI 1.2 §5.3.3)."""
    if not isinstance(reading, bytes):
        return None
    match = re.search(rb"HCSPARAMS1 *= *0x([0-9a-fA-F]{8})\b", reading)
    return (int(match[1], 16) & 0xFF) or None if match else None
