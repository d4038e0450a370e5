"""Which figure stands for a device: a word for what it is, from the classes it declares. Draws nothing.

Classes as in the USB-IF list of Defined Class Codes; protocols of input devices as in HID 1.11 §4.3.
"""

from typing import Literal

from wizard.bus.model import Device

Figure = Literal[
    "hub",
    "keys",
    "pointer",
    "control",
    "sound",
    "picture",
    "drive",
    "printer",
    "line",
    "token",
    "radio",
    "own",
    "unread",
]

WORDS: dict[Figure, str] = {
    "hub": "hub",
    "keys": "keyboard",
    "pointer": "pointer",
    "control": "input device",
    "sound": "sound",
    "picture": "camera",
    "drive": "drive",
    "printer": "printer",
    "line": "serial or network line",
    "token": "card or token",
    "radio": "radio",
    "own": "device of its maker’s own kind",
    "unread": "kind unknown",
}
"""The figures in words."""

_BY_CLASS: dict[int, Figure] = {
    0x0E: "picture",
    0x06: "picture",
    0x08: "drive",
    0x01: "sound",
    0x07: "printer",
    0x0B: "token",
    0x02: "line",
    0x0A: "line",
    0xE0: "radio",
}
"""What tells most comes first: a camera with a microphone is a camera."""

HID = 0x03
_BY_KIND: dict[str, Figure] = {"keyboard": "keys", "mouse": "pointer", "mouse_fast": "pointer"}
"""What a typical device is whose descriptors say no more than that it is an input device."""
_BY_PROTOCOL: dict[int | None, Figure] = {1: "keys", 2: "pointer"}


def figure_of(device: Device) -> Figure:
    """The figure for a device; `unread` where nothing of it is known, `own` where its class says nothing."""
    if device.hub is not None:
        return "hub"
    classes = [i.class_code for i in device.interfaces]
    for code, figure in _BY_CLASS.items():
        if code in classes or device.class_code == code:
            return figure
    if device.typical is not None and device.typical.kind in _BY_KIND:
        return _BY_KIND[device.typical.kind]
    inputs = [i.protocol for i in device.interfaces if i.class_code == HID]
    if inputs:
        # A dial would claim to know what a nameless one is for.
        unknown: Figure = "control" if device.name or device.product else "unread"
        return next((_BY_PROTOCOL[p] for p in inputs if p in _BY_PROTOCOL), unknown)
    return "own" if any(code is not None for code in classes) else "unread"
