"""The village observatory: the main camera at the end of two cables that are too long together. Told by Windows.

An old laptop with USB 2 alone. Invented from the first id to the last.
"""

from demos.parts import device, hid, hub, pipes, root, serial_line, windows

from wizard.bus.model import Device, Snapshot

OPENED = frozenset(["1-1.2", "1-1.3", "1-1.4", "1-2", "1-1.6", "2-1"])
"""Devices that Windows lets a program open: input devices, and those with its general driver. The rest keep their
names to themselves."""


def _pier(camera_at: str) -> Snapshot:
    lumenfold = "Lumenfold Optics"
    devices: list[Device] = [
        root(1, "high", "", 4, ids=("f0a1", "0020")),
        root(2, "full", "", 2, ids=("f0a1", "0010")),
        hub("1-1", ("f0b7", "0407"), 7, "multi", self_powered=True),
        device("1-1.1", ("f0f2", "0011"), "full", 100, *serial_line(), self_powered=True),
        device(
            "1-1.2",
            ("f0f2", "0207"),
            "full",
            200,
            hid(1, 64, 8000, both_ways=True),
            product="Seven-place filter wheel",
            manufacturer="Quillhaven Instruments",
            serial="QH-FW-0207",
        ),
        device(
            "1-1.3",
            ("f0f2", "0305"),
            "full",
            100,
            hid(1, 16, 8000, both_ways=True),
            product="Focuser",
            manufacturer="Quillhaven Instruments",
            self_powered=True,
        ),
        device(
            "1-1.4",
            ("f0d1", "1120"),
            "high",
            300,
            pipes(255, 0, 0, None, 512),
            class_code=255,
            product="Guide camera",
            manufacturer=lumenfold,
            serial="LF-G-1120-48",
        ),
        device("1-1.5", ("f0f5", "0002"), "full", 50, *serial_line()),
        device(
            camera_at,
            ("f0d1", "1900"),
            "high",
            100,
            pipes(255, 0, 0, None, 512),
            class_code=255,
            product="Cooled main camera",
            manufacturer=lumenfold,
            serial="LF-C-1900-07",
            self_powered=True,
        ),
        device(
            "2-1",
            ("f0b9", "0003"),
            "low",
            100,
            hid(1, 6, 10_000, boot=2),
            product="Plain mouse",
            manufacturer="Harrowmoss Peripherals",
        ),
    ]
    return windows("10.0.19045", "10", devices, OPENED)


def before() -> Snapshot:
    """The main camera hangs on the laptop indoors, at the end of 8 m."""
    return _pier("1-2")


def after() -> Snapshot:
    """The main camera hangs on the hub at the pier, by its own short lead."""
    return _pier("1-1.6")
