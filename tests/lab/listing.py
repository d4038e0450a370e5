"""The kernel's own listing of the bus, read independently of Portmend.

The format is `/sys/kernel/debug/usb/devices` (Documentation/driver-api/usb/usb.rst of Linux): lines T (place),
B (bus time), P and S (identity), I (interface; `*` marks the setting in use), E (endpoint).
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

_PAIR = re.compile(r"([\w#]+)\s*=\s*(\S+)")


@dataclass
class Listed:
    """One device. `interfaces`: by number, the driver and the endpoints (address, bytes) of the setting in use."""

    parent: str | None
    speed: str
    booked_us: int | None = None
    vendor: str = ""
    product_number: str = ""
    maker: str | None = None
    product: str | None = None
    serial: str | None = None
    interfaces: dict[int, tuple[str | None, frozenset[tuple[int, int]]]] = field(default_factory=dict)


def read_listing(text: str) -> dict[str, Listed]:
    """Every device by the name it has in sysfs."""
    found: dict[str, Listed] = {}
    places: dict[tuple[str, str], str] = {}
    for block in re.split(r"\n(?=T:)", text.strip()):
        lines = [line for line in block.splitlines() if line]
        told = dict(_PAIR.findall(lines[0]))
        bus, number = str(int(told["Bus"])), told["Dev#"]
        if told["Lev"] == "00":
            place, parent = f"usb{bus}", None
        else:
            parent = places[bus, str(int(told["Prnt"]))]
            port = int(told["Port"]) + 1
            place = f"{bus}-{port}" if parent.startswith("usb") else f"{parent}.{port}"
        places[bus, str(int(number))] = place
        found[place] = _device(Listed(parent, told["Spd"]), lines)
    return found


def _device(one: Listed, lines: list[str]) -> Listed:
    in_use: int | None = None
    for line in lines:
        kind, rest = line[0], line[3:]
        if kind == "B":
            match = re.search(r"Alloc=\s*(\d+)", rest)
            one.booked_us = int(match[1]) if match else None
        elif kind == "P":
            told = dict(_PAIR.findall(rest))
            one.vendor, one.product_number = told["Vendor"], told["ProdID"]
        elif kind == "S":
            name, _, value = rest.strip().partition("=")
            field_name = {"Manufacturer": "maker", "Product": "product", "SerialNumber": "serial"}[name]
            setattr(one, field_name, value)
        elif kind == "I":
            in_use = _interface(one, line)
        elif kind == "E" and in_use is not None:
            address = re.search(r"Ad=([0-9a-f]{2})", rest)
            size = re.search(r"MxPS=\s*(\d+)", rest)
            assert address is not None
            assert size is not None
            driver, endpoints = one.interfaces[in_use]
            one.interfaces[in_use] = (driver, endpoints | {(int(address[1], 16), int(size[1]))})
    return one


def _interface(one: Listed, line: str) -> int | None:
    """The number of an interface if this is its setting in use."""
    match = re.match(r"I:([* ]) If#=\s*(\d+).*Driver=(.*)$", line)
    assert match is not None
    if match[1] != "*":
        return None
    driver = match[3].strip()
    one.interfaces[int(match[2])] = (None if driver == "(none)" else driver, frozenset())
    return int(match[2])
