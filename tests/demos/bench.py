"""The repair café's bench: a visitor's drive on a hub with a supply too small for it. Told by Windows.

Invented from the first id to the last.
"""

from typing import Any

from demos.parts import camera, device, endpoint, hub, interface, pipes, root, windows

from wizard.bus.model import Device, Snapshot, Speed

PICTURES = ((512, 1), (1024, 1), (1024, 2))
"""The settings of the microscope, in bytes and packets a microframe."""


def _drive(identifier: str, speed: Speed, ma: int) -> Device:
    """The visitor's drive; on a USB 2 hub it tells of its SuperSpeed side by its version, 2.10."""
    size = {"high": 512, "super": 1024}[speed]
    plain = [endpoint(0x81, "bulk", size), endpoint(0x02, "bulk", size)]
    streams = [endpoint(address, "bulk", size) for address in (0x81, 0x02, 0x83, 0x04)]
    more: dict[str, Any] = {"usb_version": "2.10" if speed == "high" else "3.10"}
    return device(identifier, ("f0e3", "2500"), speed, ma, interface(8, 6, 80, None, plain, streams), **more)


def _bench(drive: Device) -> Snapshot:
    card_reader = pipes(8, 6, 80, None, 512)
    own_kind = pipes(255, 0, 0, None, 512)
    devices = [
        root(1, "super", "", 18, ids=("f0a2", "0030")),
        device("1-2", ("f0d1", "0044"), "high", 300, *camera(PICTURES, active=0)),
        hub("1-4", ("f0b7", "0207"), 7, "single", self_powered=True),
        device("1-4.1", ("f0e3", "0110"), "high", 100, card_reader),
        device("1-4.2", ("f0e3", "0110"), "high", 100, card_reader),
        device("1-4.4", ("f0e6", "0018"), "high", 100, own_kind, class_code=255),
        device("1-4.5", ("f0e8", "0300"), "high", 2, pipes(7, 1, 2, None, 512), self_powered=True),
        device("1-4.6", ("f0e6", "0031"), "high", 50, own_kind, class_code=255),
        device("1-3", ("f0e9", "0050"), "high", 500, own_kind, class_code=255),
        device("1-9", ("f0d1", "0a07"), "high", 500, *camera(PICTURES, active=0)),
        drive,
    ]
    return windows("10.0.22631", "11", devices)


def before() -> Snapshot:
    """The drive asks for as much as the hub has for all its sockets, and others already live on it."""
    return _bench(_drive("1-4.3", "high", 500))


def after() -> Snapshot:
    """The drive hangs straight on the laptop, in a SuperSpeed socket."""
    return _bench(_drive("1-16", "super", 896))
