"""The radio booth: a studio camera and three sound devices on one bus that has not time enough for all of them.

Invented from the first id to the last.
"""

from typing import Any

from demos.parts import camera, device, hid, linux, pipes, root, sound

from wizard.bus.model import Controller, Device, Snapshot

BOARD = ("IB-22", "03/02/2021")
CONTROLLERS = (
    Controller(id="0000:00:14.0", kind="xhci", driver="xhci_hcd", slot_limit=64),
    Controller(id="0000:03:00.0", kind="xhci", driver="xhci_hcd", slot_limit=64),
)
PEERS = {**{f"1-{n}": f"2-{n}" for n in range(1, 5)}, "3-1": "4-1", "3-2": "4-2"}

PICTURES = ((192, 1), (512, 1), (1024, 1), (1024, 2), (1024, 3))
"""The settings of the studio camera, in bytes and packets a microframe."""


def _booth(camera_at: str, caller_talks: bool) -> Snapshot:
    ostrelle: dict[str, Any] = {"manufacturer": "Ostrelle Sound Works"}
    devices: list[Device] = [
        root(1, "high", "0000:00:14.0", 10),
        root(2, "super", "0000:00:14.0", 4),
        root(3, "high", "0000:03:00.0", 2),
        root(4, "super", "0000:03:00.0", 2),
        device(
            "1-1",
            ("f0b5", "0724"),
            "high",
            100,
            *sound(out=672, back=672, period_us=125),
            hid(4, 64, 1000, both_ways=True),
            product="Talk desk mixer",
            serial="OSW-M24-00518",
            self_powered=True,
            **ostrelle,
        ),
        device(
            "1-2",
            ("f0b5", "0208"),
            "high",
            300,
            *sound(out=208, back=208, period_us=125, active=int(caller_talks)),
            product="Caller line interface",
            serial="OSW-CL-0093",
            **ostrelle,
        ),
        device(
            "1-5",
            ("f0b5", "0330"),
            "high",
            350,
            *sound(out=208, back=112, period_us=125),
            product="Guest headphone box",
            **ostrelle,
        ),
        device(
            "1-3",
            ("f0c4", "0061"),
            "full",
            200,
            hid(1, 64, 1000, both_ways=True),
            product="Jingle cart player",
            manufacturer="Tannel & Wick",
            serial="TW-J-4410",
        ),
        device(
            "1-6",
            ("f0b9", "0001"),
            "low",
            100,
            hid(1, 8, 10_000, boot=1),
            hid(2, 4, 10_000),
            product="Desk keyboard",
            manufacturer="Harrowmoss Peripherals",
        ),
        device(
            camera_at,
            ("f0d1", "0c20"),
            "high",
            500,
            *camera(PICTURES, active=5),
            product="Studio camera",
            manufacturer="Lumenfold Optics",
            serial="LF-20-7731",
        ),
        device(
            "2-4",
            ("f0b9", "0901"),
            "super",
            896,
            pipes(8, 6, 80, "usb-storage", 1024, burst=16),
            product="Programme archive drive",
            manufacturer="Harrowmoss Peripherals",
            serial="SA-5512-0031",
        ),
    ]
    return linux(BOARD, CONTROLLERS, PEERS, devices)


def before() -> Snapshot:
    """The camera runs; the caller's interface was refused its stream and rests."""
    return _booth("1-4", caller_talks=False)


def after() -> Snapshot:
    """The camera hangs on the second controller; both run."""
    return _booth("3-1", caller_talks=True)
