"""Snapshots made to measure: short words for controllers, hubs and devices, for tests only."""

from typing import Any

from wizard.bus.model import (
    MBPS,
    Alternate,
    Controller,
    ControllerKind,
    Device,
    Endpoint,
    Hub,
    Interface,
    Snapshot,
    Socket,
    Speed,
)


def controller(identifier: str = "0000:00:14.0", kind: ControllerKind = "xhci", **more: Any) -> Controller:
    return Controller(id=identifier, kind=kind, **more)


def root(number: int = 1, speed: Speed = "high", parent: str = "0000:00:14.0", ports: int = 4) -> Device:
    return Device(
        id=f"usb{number}",
        parent=parent,
        root=True,
        hub=Hub(ports=ports, translator="none"),
        speed=speed,
        mbps=MBPS[speed],
        self_powered=True,
        max_power_ma=0,
    )


def parent_of(identifier: str) -> str:
    if "." in identifier:
        return identifier.rsplit(".", 1)[0]
    return f"usb{identifier.split('-')[0]}"


def hub(
    identifier: str,
    speed: Speed = "high",
    self_powered: bool | None = True,
    ma: int | None = 100,
    translator: Any = "single",
    ports: int | None = 4,
    **more: Any,
) -> Device:
    return Device(
        id=identifier,
        parent=parent_of(identifier),
        hub=Hub(ports=ports, translator=translator if speed == "high" else "none"),
        speed=speed,
        mbps=MBPS[speed],
        self_powered=self_powered,
        max_power_ma=ma,
        **more,
    )


def device(identifier: str, speed: Speed = "full", ma: int | None = 100, *endpoints: Endpoint, **more: Any) -> Device:
    interface = Interface(number=0, active_alternate=0, alternates=(Alternate(number=0, endpoints=endpoints),))
    more = {"interfaces": (interface,), "self_powered": False, **more}
    return Device(id=identifier, parent=parent_of(identifier), speed=speed, mbps=MBPS[speed], max_power_ma=ma, **more)


def interrupt(size: int = 8, interval_us: int = 8000, address: int = 0x81, **more: Any) -> Endpoint:
    return Endpoint(address=address, type="interrupt", max_packet=size, interval_us=interval_us, **more)


def iso(size: int, interval_us: int = 1000, address: int = 0x82, **more: Any) -> Endpoint:
    return Endpoint(address=address, type="isochronous", max_packet=size, interval_us=interval_us, **more)


def snapshot(*parts: Controller | Device | Socket, **more: Any) -> Snapshot:
    return Snapshot(
        controllers=tuple(p for p in parts if isinstance(p, Controller)),
        devices=tuple(p for p in parts if isinstance(p, Device)),
        sockets=tuple(p for p in parts if isinstance(p, Socket)),
        **more,
    )
