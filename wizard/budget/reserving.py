"""What a device's periodic endpoints reserve, and at which place: the loads of every bus and translator.

A full- or low-speed device below a high-speed hub spends time twice: on the translator's full-speed bus, and as split
transactions on the high-speed bus above it. What was reckoned of a device is remembered with its tree.
"""

from collections.abc import Iterable
from math import fsum
from typing import Literal, NamedTuple

from wizard.budget.bus_time import BusSpeed, booked_us, service_ns
from wizard.budget.places import Place
from wizard.budget.polling import period_frames, period_microframes
from wizard.budget.schedule import Load
from wizard.budget.splits import split_pieces
from wizard.budget.ways import Way, way_of
from wizard.bus.model import Alternate, ControllerKind, Device, Endpoint, Interface
from wizard.bus.tree import BusTree

Settings = Literal["greatest", "current"]


class Reserved(NamedTuple):
    """The loads of one device: at the place it works through, and as splits on the high-speed bus above."""

    own: tuple[Load, ...]
    split: tuple[Load, ...]


class Meeting(NamedTuple):
    """What meets at the places of a bus: the loads of each at the greatest settings and at those in use now, the places
    that a device uses which was not read, and those of which a setting in use is not told."""

    loads: dict[Settings, dict[str, list[Load]]]
    unread: set[str]
    guessed: set[str]


def meeting(tree: BusTree, devices: Iterable[Device], places: dict[str, Place]) -> Meeting:
    """The loads of these devices where they fall."""
    greatest: dict[str, list[Load]] = {where: [] for where in places}
    current: dict[str, list[Load]] = {where: [] for where in places}
    found = Meeting({"greatest": greatest, "current": current}, set(), set())
    for device in devices:
        way = way_of(tree, device)
        if way is None or way.root not in places:
            continue
        if way.unread:
            found.unread.update(way.places)
        if way.guessed:
            found.guessed.update(way.places)
        place = places[way.places[0]]
        for settings, loads in found.loads.items():
            reserved = _remembered(tree, device, settings, way, place)
            loads[place.where].extend(reserved.own)
            if reserved.split:
                loads[way.root].extend(reserved.split)
    return found


def _remembered(tree: BusTree, device: Device, settings: Settings, way: Way, place: Place) -> Reserved:
    """The loads of a device, reckoned once for each device that a tree has met; the same ones for both settings where
    these don't differ."""
    os = tree.snapshot.system.os
    key = (id(device), settings, place.kind, os, place.think_ns)
    known = tree.remembered.get(key)
    if known is None:
        both = all(len(i.alternates) < 2 for i in device.interfaces)
        reserved = _reckoned(way, settings, place, os)
        # The device is kept with its figures, so that its identity can't be given to another.
        for asked in ("greatest", "current") if both else (settings,):
            tree.remembered[(id(device), asked, *key[2:])] = (device, reserved)
        return reserved
    found: Reserved = known[1]
    return found


def _reckoned(way: Way, settings: Settings, place: Place, os: str | None) -> Reserved:
    device, speed = way.device, way.speed
    own: list[Load] = []
    above: list[Load] = []
    kind, think = place.kind, place.think_ns or 0
    for endpoint in periodic_endpoints(device.interfaces, settings, speed, kind, os):
        ns = service_ns(speed, endpoint)
        high = speed == "high"
        slots = period_microframes(endpoint, kind, os) if high else period_frames(endpoint, speed, kind, os)
        booked = booked_us(kind, speed, endpoint)
        own.append(Load(device.id, endpoint.address, slots, (ns + think,), booked, ns, endpoint.type == "isochronous"))
        if way.split:
            pieces = split_pieces(endpoint, kind)
            booked = fsum(-(-piece // 1000) if kind == "ehci" else piece / 1000 for piece in pieces)
            above.append(Load(device.id, endpoint.address, 8 * slots, pieces, booked, sum(pieces)))
    return Reserved(tuple(own), tuple(above))


def periodic_endpoints(
    interfaces: Iterable[Interface],
    settings: Settings,
    speed: BusSpeed,
    kind: ControllerKind,
    os: str | None = None,
) -> Iterable[Endpoint]:
    """The endpoints that reserve time: of the settings in use now, or of the greatest of each interface."""
    for interface in interfaces:
        if settings == "current" or len(interface.alternates) == 1:
            chosen = interface.current() if settings == "current" else interface.alternates[0]
        else:
            chosen = max(interface.alternates, key=lambda a: _mean(a, speed, kind, os), default=None)
        if chosen is not None:
            yield from (e for e in chosen.endpoints if e.is_periodic and e.max_packet)


def _mean(alternate: Alternate, speed: BusSpeed, kind: ControllerKind, os: str | None) -> float:
    """Mean nanoseconds per frame of an alternate setting."""
    total = 0.0
    for endpoint in alternate.endpoints:
        if endpoint.is_periodic and endpoint.max_packet:
            per_frame = (
                8 / period_microframes(endpoint, kind, os)
                if speed == "high"
                else 1 / period_frames(endpoint, speed, kind, os)
            )
            total += service_ns(speed, endpoint) * per_frame
    return total
