"""Which device of one look is which of another. Knows no budget and says nothing of what changed.

A serial number decides where both looks have it. Otherwise the ids of maker and model do, then the name;
among equals, the one that stayed where it was is itself, and the rest go in order of their places.
"""

from collections.abc import Callable, Iterable
from typing import Any

from wizard.bus.model import Controller, Device, Snapshot
from wizard.bus.tree import natural_key

Pair = tuple[Device, Device]
Key = Callable[[Device], tuple[Any, ...] | None]
Match = Callable[[Device, Device], bool]


def pair_devices(
    before: Iterable[Device], after: Iterable[Device]
) -> tuple[tuple[Pair, ...], tuple[Device, ...], tuple[Device, ...]]:
    """Pairs of (device before, device after), the devices gone and the new ones, each in natural order of ids.

    Root hubs are left out. Exchanging the arguments exchanges gone and new and turns the pairs round.
    """
    old, new = _sorted(before), _sorted(after)
    pairs: list[Pair] = []
    for key, matches in _STAGES:
        pairs += _pair_by(key, matches, old, new)
    pairs.sort(key=lambda p: (natural_key(p[1].id), natural_key(p[0].id)))
    return tuple(pairs), tuple(old), tuple(new)


def are_two_machines(before: Snapshot, after: Snapshot) -> bool:
    """Whether the looks are surely of two computers: their boards differ, or no controller of one is in the other.
    Where neither tells, they are taken for one."""
    boards = [(s.system.board_maker, s.system.board_model) for s in (before, after)]
    if any(a and b and a != b for a, b in zip(*boards, strict=True)):
        return True
    if not (before.controllers and after.controllers):
        return False
    return not any(_may_be_one_controller(a, b) for a in before.controllers for b in after.controllers)


def _may_be_one_controller(one: Controller, other: Controller) -> bool:
    if one.id != other.id:
        return False
    if one.pci is None or other.pci is None:
        return True
    known = ((one.pci.vendor, other.pci.vendor), (one.pci.device, other.pci.device))
    return all(a is None or b is None or a == b for a, b in known)


def _sorted(devices: Iterable[Device]) -> list[Device]:
    return sorted((d for d in devices if not d.root), key=lambda d: natural_key(d.id))


def _with_serial(device: Device) -> tuple[Any, ...] | None:
    return (device.vid, device.pid, device.serial) if device.serial else None


def _model_and_name(device: Device) -> tuple[Any, ...] | None:
    return (device.vid, device.pid, device.release, device.name) if device.vid and device.pid else None


def _model(device: Device) -> tuple[Any, ...] | None:
    """Without release and name: its firmware was renewed, or a name was left out of a document."""
    return (device.vid, device.pid) if device.vid and device.pid else None


def _place(device: Device) -> tuple[Any, ...] | None:
    """What could not be read in one look can still be known by its place."""
    return (device.id,)


def _pair_by(key: Key, matches: tuple[Match, ...], old: list[Device], new: list[Device]) -> list[Pair]:
    """Pair what shares a key and take it out of both lists."""
    groups: dict[tuple[Any, ...], tuple[list[Device], list[Device]]] = {}
    for side, devices in enumerate((old, new)):
        for device in devices:
            named = key(device)
            if named is not None:
                groups.setdefault(named, ([], []))[side].append(device)
    pairs: list[Pair] = []
    for was, now in groups.values():
        for match in matches:
            pairs += _take(match, was, now)
    for one, other in pairs:
        old.remove(one)
        new.remove(other)
    return pairs


def _take(match: Match, was: list[Device], now: list[Device]) -> list[Pair]:
    """Greedy in order of places; what is paired leaves both lists."""
    pairs: list[Pair] = []
    for one in tuple(was):
        other = next((d for d in now if match(one, d)), None)
        if other is not None:
            was.remove(one)
            now.remove(other)
            pairs.append((one, other))
    return pairs


def _may_be_one(one: Device, other: Device) -> bool:
    """Two serial numbers that differ are two devices."""
    return not (one.serial and other.serial) or one.serial == other.serial


def _same_place(one: Device, other: Device) -> bool:
    return one.id == other.id and _may_be_one(one, other)


def _neither_numbered(one: Device, other: Device) -> bool:
    return not one.serial and not other.serial


def _nothing_against(one: Device, other: Device) -> bool:
    known = ((one.vid, other.vid), (one.pid, other.pid), (one.serial, other.serial))
    return all(a is None or b is None or a == b for a, b in known)


_AMONG_EQUALS: tuple[Match, ...] = (_same_place, _neither_numbered, _may_be_one)
_STAGES: tuple[tuple[Key, tuple[Match, ...]], ...] = (
    (_with_serial, _AMONG_EQUALS),
    (_model_and_name, _AMONG_EQUALS),
    (_model, _AMONG_EQUALS),
    (_place, (_nothing_against,)),
)
