"""What invented set-ups are put together from: interfaces, devices, hubs, sockets, and how two systems tell of them.

Shapes follow the class specifications; sizes, currents and periods are typical, from memory. Nothing here is real:
makers, models, numbers and vendor ids (`f0..`) are made up. Knows no scenario.
"""

from collections.abc import Collection, Iterable, Sequence
from typing import Any

from wizard.bus.model import (
    MBPS,
    Alternate,
    Controller,
    Device,
    Endpoint,
    Hub,
    Interface,
    PowerSaving,
    Snapshot,
    Socket,
    Speed,
    System,
)
from wizard.bus.tree import natural_key
from wizard.observe.labels import label, root_label

Streams = Sequence[tuple[int, int]]
"""Greatest packet in bytes and packets per (micro)frame, setting by setting from 1 on; setting 0 carries nothing."""


def endpoint(address: int, kind: Any, size: int, interval_us: int = 0, **more: Any) -> Endpoint:
    return Endpoint(address=address, type=kind, max_packet=size, interval_us=interval_us, **more)


def interface(
    code: int, subclass: int, protocol: int, driver: str | None, *settings: Sequence[Endpoint], active: int = 0
) -> Interface:
    """One interface with its settings; its number is given when it becomes part of a device."""
    alternates = tuple(Alternate(number=n, endpoints=tuple(s), protocol=protocol) for n, s in enumerate(settings))
    return Interface(
        number=0,
        class_code=code,
        subclass=subclass,
        protocol=protocol,
        driver=driver,
        active_alternate=active,
        alternates=alternates,
    )


def hid(address: int, size: int, interval_us: int, boot: int = 0, both_ways: bool = False) -> Interface:
    """An input device; `boot` is 1 for a keyboard, 2 for a mouse (HID 1.11 §4.3)."""
    pipes = [endpoint(0x80 | address, "interrupt", size, interval_us)]
    if both_ways:
        pipes.append(endpoint(address, "interrupt", size, interval_us))
    return interface(3, 1 if boot else 0, boot, "usbhid", pipes)


def sound(out: int, back: int, period_us: int, active: int = 1) -> tuple[Interface, ...]:
    """A sound device that plays packets of `out` bytes and records packets of `back` bytes."""
    streams = [endpoint(address, "isochronous", size, period_us) for address, size in ((0x01, out), (0x82, back))]
    carrying = [interface(1, 2, 32, "snd-usb-audio", [], [stream], active=active) for stream in streams]
    return (interface(1, 1, 32, "snd-usb-audio", []), *carrying)


def camera(streams: Streams, active: int) -> tuple[Interface, ...]:
    """A camera whose pictures take one of these settings; `active` is the one in use, 0 for none."""
    settings = [[endpoint(0x81, "isochronous", size, 125, transactions=packets)] for size, packets in streams]
    return (
        interface(14, 1, 0, "uvcvideo", [endpoint(0x83, "interrupt", 16, 16_000)]),
        interface(14, 2, 0, "uvcvideo", [], *settings, active=active),
    )


def pipes(code: int, subclass: int, protocol: int, driver: str | None, size: int, **more: Any) -> Interface:
    """One bulk pipe each way: a drive (class 8), a printer (7), a device of the maker's own kind (255)."""
    return interface(
        code, subclass, protocol, driver, [endpoint(0x81, "bulk", size, **more), endpoint(0x02, "bulk", size, **more)]
    )


def serial_line() -> tuple[Interface, ...]:
    """A serial device of the communications class: one interface to steer, one for the data (CDC PSTN 1.2)."""
    return (interface(2, 2, 1, "cdc_acm", [endpoint(0x83, "interrupt", 8, 16_000)]), pipes(10, 0, 0, "cdc_acm", 64))


def device(
    identifier: str, ids: tuple[str, str], speed: Speed, ma: int | None, *interfaces: Interface, **more: Any
) -> Device:
    """A device in a socket. `ids` are vendor and product; `more` are fields as in a snapshot."""
    usb = {"low": "1.10", "full": "2.00", "high": "2.00", "super": "3.20", "super_plus": "3.20"}[speed]
    numbered = tuple(i.model_copy(update={"number": n}) for n, i in enumerate(interfaces))
    told: dict[str, Any] = {
        "release": "1.00",
        "class_code": 0,
        "usb_version": usb,
        "self_powered": False,
        "configuration": 1,
        "power_saving": PowerSaving(allowed=False, state="active", delay_ms=2000),
        **more,
    }
    name = label(told.get("product"), told["class_code"], numbered, None)
    return Device(
        id=identifier,
        parent=parent_of(identifier),
        vid=ids[0],
        pid=ids[1],
        speed=speed,
        mbps=MBPS[speed],
        max_power_ma=ma,
        interfaces=numbered,
        name=name,
        **told,
    )


def hub(identifier: str, ids: tuple[str, str], ports: int, translator: Any, self_powered: bool, **more: Any) -> Device:
    """A USB 2 hub outside the PC; `translator` is `single` or `multi`. It declares 100 mA for itself."""
    waiting = interface(9, 0, 1 if translator == "single" else 2, "hub", [endpoint(0x81, "interrupt", 1, 256_000)])
    return device(
        identifier,
        ids,
        "high",
        100,
        waiting,
        hub=Hub(ports=ports, translator=translator),
        class_code=9,
        self_powered=self_powered,
        power_saving=PowerSaving(allowed=True, state="active", delay_ms=0),
        **more,
    )


def root(number: int, speed: Speed, controller: str, ports: int, ids: tuple[str, str] | None = None) -> Device:
    """The sockets of a controller as a hub; on Linux the kernel gives it ids of its own."""
    usb = {"full": "1.10", "high": "2.00", "super": "3.00"}[speed]
    kernel = ("1d6b", {"full": "0001", "high": "0002", "super": "0003"}[speed])
    waiting = interface(9, 0, 0, "hub", [endpoint(0x81, "interrupt", 4, 256_000)])
    made = device(
        f"usb{number}",
        ids or kernel,
        speed,
        0,
        waiting,
        root=True,
        hub=Hub(ports=ports, translator="none"),
        release="6.01" if ids is None else "1.00",
        class_code=9,
        usb_version=usb,
        self_powered=True,
        power_saving=PowerSaving(allowed=True, state="active", delay_ms=0),
    )
    return made.model_copy(update={"parent": controller, "name": root_label(made.id)})


def parent_of(identifier: str) -> str:
    """The hub a device hangs on, by its id."""
    above, dot, _ = identifier.rpartition(".")
    return above if dot else f"usb{identifier.partition('-')[0]}"


def linux(
    board: tuple[str, str], controllers: Iterable[Controller], peers: dict[str, str], devices: Iterable[Device]
) -> Snapshot:
    """All of it as Linux tells it. `board` is its model and the date of its firmware; `peers` pairs the USB 2 half of
    a socket of the PC with its SuperSpeed half."""
    found = sorted(devices, key=lambda d: natural_key(d.id))
    halves = {**peers, **{fast: slow for slow, fast in peers.items()}}
    return Snapshot(
        system=System(
            os="linux",
            version="an invented system",
            kernel="6.1.0",
            board_maker="Invented Boards",
            board_model=board[0],
            firmware_version="1.04",
            firmware_date=board[1],
        ),
        controllers=tuple(sorted(controllers, key=lambda c: natural_key(c.id))),
        sockets=_sockets(found, halves),
        devices=tuple(found),
    )


def _sockets(devices: Iterable[Device], halves: dict[str, str]) -> tuple[Socket, ...]:
    """Every port of every hub; those of the PC are at its rear."""
    made = []
    for one in devices:
        ports = one.hub.ports if one.hub is not None else None
        for port in range(1, (ports or 0) + 1):
            identifier = f"{one.id[3:]}-{port}" if one.root else f"{one.id}.{port}"
            fast = identifier in halves or one.is_super
            made.append(
                Socket(
                    id=identifier,
                    hub=one.id,
                    peer=halves.get(identifier),
                    place="rear" if one.root else None,
                    shape="a",
                    generation="usb3" if fast else "usb2",
                    usable=True,
                    built_in=False,
                    over_current_count=0,
                )
            )
    return tuple(sorted(made, key=lambda s: natural_key(s.id)))


def windows(version: str, kernel: str, devices: Iterable[Device], opened: Collection[str] = ()) -> Snapshot:
    """All of it as libusb tells it on Windows: no drivers, no settings in use, no empty sockets, no power saving, no
    controllers by name; texts and the configuration in use only of the `opened` ones."""
    found = sorted(devices, key=lambda d: natural_key(d.id))
    buses = sorted({natural_key(d.id): d.id.removeprefix("usb") for d in found if d.root}.items())
    told = tuple(_through_libusb(d, d.id in opened) for d in found)
    return Snapshot(
        system=System(os="windows", version=version, kernel=kernel),
        controllers=tuple(_nameless(bus, found) for _, bus in buses),
        sockets=tuple(Socket(id=d.id, hub=parent_of(d.id), usable=True) for d in found if not d.root),
        devices=told,
    )


def _nameless(bus: str, devices: Iterable[Device]) -> Controller:
    fast = any(d.is_super for d in devices if d.id == f"usb{bus}" or d.id.startswith(f"{bus}-"))
    return Controller(id=f"bus-{bus}", kind="xhci" if fast else "other")


def _through_libusb(one: Device, opened: bool) -> Device:
    interfaces = tuple(i.model_copy(update={"driver": None, "active_alternate": None}) for i in one.interfaces)
    kept: dict[str, Any] = {"interfaces": interfaces, "power_saving": None}
    if one.root:
        kept |= {"parent": f"bus-{one.id.removeprefix('usb')}", "hub": Hub(translator="none"), "configuration": None}
        return one.model_copy(update=kept)
    if one.hub is not None:
        single = one.hub.translator == "single"
        kept["hub"] = Hub(translator="single" if single else None)
    if not opened:
        nameless = label(None, one.class_code, interfaces, None)
        kept |= dict.fromkeys(("manufacturer", "product", "serial", "configuration"))
        kept["name"] = nameless
    return one.model_copy(update=kept)
