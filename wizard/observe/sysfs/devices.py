"""Building a device of the snapshot from what its files told. Reads nothing itself.

What the descriptors say stands first; single attributes fill in where there are no descriptors.
What is missing stays None; what was there and could not be read is told in `unreadable`.
"""

import re
from collections.abc import Iterable, Mapping
from functools import lru_cache

from wizard.bus.descriptors import Configuration
from wizard.bus.model import Device, Hub, Interface, PowerSaving, Speed, Unreadable
from wizard.observe.labels import label, root_label
from wizard.observe.sysfs.reading import HUB_CLASS, LINK_STATES, RawDevice, RawInterface, left_unread
from wizard.observe.words import number_in, text_of

_POWER_FILES = (
    "power/control",
    "power/runtime_status",
    "power/autosuspend_delay_ms",
    "power/runtime_suspended_time",
    *LINK_STATES,
)

_MULTI = 2  # bInterfaceProtocol of a hub with one translator per socket: USB 2.0 §11.23.1


def make_device(raw: RawDevice) -> Device:
    """The device as far as its files could be read."""
    facts = _Facts(raw)
    speed = raw.speed
    configuration = facts.configuration()
    active = raw.described.configuration(configuration)
    interfaces = _interfaces(active, raw.interfaces, facts, configuration == 0)
    ports = facts.number("maxchild")
    class_code = facts.class_code()
    product = raw.words("product")
    power = _declared_power(active, facts, speed[0] if speed else None)
    return Device(
        id=raw.place.id,
        parent=raw.place.parent or None,
        root=raw.place.root,
        hub=_hub(raw, class_code, ports, speed[0] if speed else None, interfaces),
        vid=facts.identity("vid", "idVendor"),
        pid=facts.identity("pid", "idProduct"),
        release=facts.release(),
        class_code=class_code,
        speed=speed[0] if speed else None,
        mbps=speed[1] if speed else None,
        usb_version=facts.usb_version(),
        max_power_ma=power[0],
        self_powered=power[1],
        configuration=configuration,
        interfaces=interfaces,
        formats=tuple(f for f in raw.formats if f.configuration == configuration),
        name=root_label(raw.place.id) if raw.place.root else label(product, class_code, interfaces, ports),
        manufacturer=raw.words("manufacturer"),
        product=product,
        serial=raw.words("serial"),
        power_saving=_power_saving(raw),
        scsi_hosts=tuple(host for interface in raw.interfaces for host in interface.scsi_hosts),
        disks=tuple(disk for interface in raw.interfaces for disk in interface.disks),
        unreadable=facts.troubles(),
    )


class _Facts:
    """Single facts of one device, and the troubles met while getting them."""

    def __init__(self, raw: RawDevice) -> None:
        self._raw = raw
        self._garbled: list[Unreadable] = []

    def number(self, name: str, base: int = 10) -> int | None:
        raw = self._raw.attributes.get(name)
        if not isinstance(raw, bytes):
            return None
        value = number_in(raw, base)
        if value is None and raw.strip():
            self.tell(name, "not a number")
        return value

    def matched(self, name: str, pattern: str) -> str | None:
        """An attribute that has to look like `pattern`."""
        words = self._raw.words(name)
        if words is not None and not re.fullmatch(pattern, words):
            self.tell(name, "not as Linux writes it")
            return None
        return words

    def tell(self, name: str, detail: str) -> None:
        where = f"{self._raw.place.id}/{name}"
        self._garbled.append(Unreadable(where=where, reason="garbled", detail=detail))

    def identity(self, described: str, attribute: str) -> str | None:
        """Vendor or product id: four hexadecimal digits."""
        if self._raw.described.device is not None:
            return str(getattr(self._raw.described.device, described))
        return self.matched(attribute, "[0-9a-f]{4}")

    def release(self) -> str | None:
        """bcdDevice as `2.10`; the attribute has it as `0210`."""
        if self._raw.described.device is not None:
            return self._raw.described.device.release
        digits = self.matched("bcdDevice", "[0-9a-f]{4}")
        return f"{digits[:2].lstrip('0') or '0'}.{digits[2:]}" if digits else None

    def usb_version(self) -> str | None:
        if self._raw.described.device is not None:
            return self._raw.described.device.usb_version
        return self.matched("version", r"[0-9a-f]{1,2}\.[0-9a-f]{2}")

    def class_code(self) -> int | None:
        if self._raw.described.device is not None:
            return self._raw.described.device.class_code
        return self.number("bDeviceClass", 16)

    def configuration(self) -> int | None:
        """bConfigurationValue of the configuration in use; 0 if none is (USB 2.0 §9.4.2).

        Interfaces exist only in a configuration in use and carry its number in their names, so the
        attribute, which may wait, is needed only where there are none. It is empty if none is in use.
        """
        if self._raw.place.interfaces:
            return self._raw.place.interfaces[0].configuration
        raw = self._raw.attributes.get("bConfigurationValue")
        if isinstance(raw, bytes) and not raw.strip():
            return 0
        return self.number("bConfigurationValue")

    def troubles(self) -> tuple[Unreadable, ...]:
        """Everything that was there and could not be read or understood; one entry if it is the whole device."""
        raw = self._raw
        if raw.gone or raw.stuck:
            return (Unreadable(where=raw.place.id, reason="vanished" if raw.gone else "blocked"),)
        if self._raw.words("speed") is not None and raw.speed is None:
            self.tell("speed", "no speed Linux knows")
        elsewhere = [*_refused(raw.place.id, raw.attributes), *left_unread(raw)]
        for interface in raw.interfaces:
            elsewhere += _refused(f"{raw.place.id}/{interface.name}", interface.attributes)
        if raw.attributes.get("descriptors", b"") is None:
            detail = "there are none; its endpoints are unknown"
            elsewhere.append(Unreadable(where=f"{raw.place.id}/descriptors", reason="failed", detail=detail))
        said = [p.model_copy(update={"where": f"{raw.place.id}/{p.where}"}) for p in raw.described.problems]
        return _folded(raw.place.id, [*elsewhere, *said, *self._garbled])


def _refused(place: str, attributes: Mapping[str, object]) -> list[Unreadable]:
    return [
        Unreadable.model_validate({"where": f"{place}/{name}", "reason": reading})
        for name, reading in attributes.items()
        if isinstance(reading, str) and not name.startswith("power/")  # EIO: it has no such setting
    ]


def _folded(place: str, troubles: list[Unreadable]) -> tuple[Unreadable, ...]:
    """If both speed and descriptors are kept from us, so is the device, and one entry tells it."""
    if not troubles:
        return ()
    kept = {t.where.partition("/")[2]: t.reason for t in troubles if t.reason != "garbled"}
    if "speed" in kept and "descriptors" in kept:
        return (Unreadable(where=place, reason=kept["speed"]),)
    return tuple(troubles)


def _declared_power(active: Configuration | None, facts: _Facts, speed: Speed | None) -> tuple[int | None, bool | None]:
    """Declared current in mA, and whether self-powered. A speed unknown leaves the unit unknown."""
    if active is not None:
        return (active.max_power_ma if speed else None), active.self_powered
    words = facts.matched("bMaxPower", "[0-9]{1,4}mA")
    attributes = facts.number("bmAttributes", 16)
    return int(words[:-2]) if words else None, bool(attributes & 0x40) if attributes is not None else None


def _interfaces(
    active: Configuration | None, raws: Iterable[RawInterface], facts: _Facts, unused: bool
) -> tuple[Interface, ...]:
    """The interfaces of the configuration in use: settings from the descriptors, use from their folders."""
    if unused:
        return ()
    described = {i.number: i for i in active.interfaces} if active else {}
    found = {raw.number: raw for raw in raws}
    made = []
    for number in sorted(described.keys() | found.keys()):
        raw = found.get(number)
        interface = described.get(number) or _bare_interface(number, raw)
        if raw is not None:
            alternate = raw.attributes.get("bAlternateSetting")
            setting = number_in(alternate) if isinstance(alternate, bytes) else None
            if setting is None and isinstance(alternate, bytes):
                facts.tell(f"{raw.name}/bAlternateSetting", "not a number")
            interface = interface.model_copy(update={"active_alternate": setting, "driver": raw.driver})
        made.append(interface)
    return tuple(made)


def _bare_interface(number: int, raw: RawInterface | None) -> Interface:
    """An interface of which only its folder tells; its settings stay unknown."""
    codes: dict[str, int | None] = {}
    for name in ("bInterfaceClass", "bInterfaceSubClass", "bInterfaceProtocol"):
        reading = raw.attributes.get(name) if raw is not None else None
        codes[name] = number_in(reading, 16) if isinstance(reading, bytes) else None
    return Interface(
        number=number,
        class_code=codes["bInterfaceClass"],
        subclass=codes["bInterfaceSubClass"],
        protocol=codes["bInterfaceProtocol"],
    )


def _hub(
    raw: RawDevice, class_code: int | None, ports: int | None, speed: Speed | None, interfaces: tuple[Interface, ...]
) -> Hub | None:
    """What makes it a hub. Only a high-speed hub translates (USB 2.0 §11.14); a root hub counts as having
    no translator of its own, whatever its controller does inside."""
    if not (raw.place.root or class_code == HUB_CLASS or ports):
        return None
    if raw.place.root or (speed is not None and speed != "high"):
        return Hub(ports=ports, translator="none")
    protocol = _hub_protocol(interfaces)
    if speed is None or protocol is None:
        return Hub(ports=ports)
    return Hub(ports=ports, translator="multi" if protocol == _MULTI else "single")


def _hub_protocol(interfaces: tuple[Interface, ...]) -> int | None:
    """bInterfaceProtocol of the setting a hub runs in; unknown if it has several and none is said to be in use."""
    hub = next((i for i in interfaces if i.class_code in (HUB_CLASS, None)), None)
    if hub is None or not hub.alternates:
        return hub.protocol if hub is not None else None
    if hub.active_alternate is None and len(hub.alternates) > 1:
        return None
    current = hub.current()
    return current.protocol if current is not None else None


def _power_saving(raw: RawDevice) -> PowerSaving | None:
    readings = map(raw.attributes.get, _POWER_FILES)
    return _saving(tuple(reading if isinstance(reading, bytes) else None for reading in readings))


@lru_cache(maxsize=256)  # most devices of a bus say the same
def _saving(readings: tuple[bytes | None, ...]) -> PowerSaving | None:
    """Documentation/ABI/testing/sysfs-devices-power: `auto` may be suspended, `on` may not. `readings` are those of
    `_POWER_FILES`."""
    words = {
        name: text_of(r) or None if r is not None else None for name, r in zip(_POWER_FILES, readings, strict=True)
    }
    control, state, delay, slept = (words[name] for name in _POWER_FILES[:4])
    if control is None and state is None:
        return None
    slept_ms = number_in((slept or "").encode())
    return PowerSaving(
        allowed={"auto": True, "on": False}.get(control or ""),
        state=state,
        delay_ms=number_in(delay.encode()) if delay else None,  # none where the kernel answers EIO
        has_slept=None if slept_ms is None else slept_ms > 0,
        link_states=_link_states(words),
    )


def _link_states(words: Mapping[str, str | None]) -> tuple[str, ...] | None:
    """Linux writes `y`, `1` or `enabled` where a link state is on, and has files only where there are such states."""
    found = {state: told for name, state in LINK_STATES.items() if (told := words[name]) is not None}
    on = tuple(state for state, told in found.items() if told.lower() in ("y", "1", "yes", "enabled"))
    return on if found else None
