"""Invented desks for the planner: so many controllers, hubs and devices, some budgets overdrawn on purpose.

The same numbers and seed give the same desk. Devices are of a few typical shapes; nothing here is real.
"""

import random
from typing import Any

from builders import controller, device, hub, interrupt, iso, root, snapshot

from wizard.budget.setup import Setup
from wizard.bus.model import Snapshot, Socket

SHAPES: tuple[tuple[str, Any, int, tuple[Any, ...]], ...] = (
    ("pedals", "full", 100, (interrupt(16, 8000),)),
    ("stick", "full", 250, (interrupt(64, 1000), interrupt(64, 1000, 0x02))),
    ("sound", "full", 250, (iso(294, address=0x01), iso(294))),
    ("headset", "full", 100, (iso(196, address=0x01), iso(98))),
    ("mouse", "low", 100, (interrupt(8, 10_000),)),
    ("camera", "high", 500, (iso(1024, 125),)),
    ("stick drive", "high", 200, ()),
)


def make_desk(controllers: int, hubs: int, devices: int, seed: int = 1) -> tuple[Snapshot, Setup]:
    """A desk and what was told of it; every hub has a supply of its own of 2 A, seven sockets, one translator."""
    chance = random.Random(seed)
    parts: list[Any] = []
    free: list[str] = []
    for number in range(1, controllers + 1):
        name = f"0000:0{number}:00.0"
        parts += [controller(name, slot_limit=64, endpoint_limit=254), root(number, parent=name, ports=14)]
        for port in range(1, 15):
            parts.append(Socket(id=f"{number}-{port}", hub=f"usb{number}", place="rear" if port < 9 else "front"))
            free.append(f"{number}-{port}")
    chance.shuffle(free)
    strips: list[str] = []
    for _ in range(hubs):
        at = free.pop()
        parts.append(hub(at, ports=7))
        parts += [Socket(id=f"{at}.{i}", hub=at) for i in range(1, 8)]
        strips.append(at)
    crowded = [f"{h}.{i}" for h in strips for i in range(1, 8)]
    chance.shuffle(crowded)
    # Fill a few hubs to the brim, as people do, so that translators and supplies are overdrawn.
    crowded.sort(key=lambda s: strips.index(s.rsplit(".", 1)[0]) >= max(1, hubs // 3))
    sockets = crowded[:devices]
    for number, at in enumerate(sockets):
        _, speed, ma, endpoints = chance.choice(SHAPES)
        parts.append(device(at, speed, ma, *endpoints, serial=f"S{number}" if chance.random() < 0.5 else None))
    return snapshot(*parts), Setup(supplies_ma=dict.fromkeys(strips, 2000.0))


def make_tight_desk(controllers: int, hubs: int, devices: int, seed: int = 1) -> tuple[Snapshot, Setup]:
    """A desk where the bound alone proves little: few free sockets, hubs on hubs, some fed by the bus, cameras that
    crowd the first controller, channels that run out there, plugs that must stay and pairs to keep apart."""
    chance = random.Random(seed)
    parts: list[Any] = []
    free: list[str] = []
    for number in range(1, controllers + 1):
        name = f"0000:0{number}:00.0"
        ports = max(4, hubs // controllers + 2)
        parts += [controller(name, slot_limit=64, endpoint_limit=254), root(number, parent=name, ports=ports)]
        for port in range(1, ports + 1):
            parts.append(Socket(id=f"{number}-{port}", hub=f"usb{number}", place="rear" if port < 3 else "front"))
            free.append(f"{number}-{port}")
    strips: list[str] = []
    supplies: dict[str, float] = {}
    for _ in range(hubs):
        at = free.pop(
            next(i for i, at in enumerate(free) if i >= chance.randrange(2 * controllers) and at.count(".") < 4)
        )
        fed = chance.random() < 0.7
        parts.append(hub(at, ports=4, self_powered=fed, translator=chance.choice(["single", "multi"])))
        parts += [Socket(id=f"{at}.{i}", hub=at) for i in range(1, 5)]
        for i in range(1, 5):
            free.insert(chance.randrange(len(free) + 1), f"{at}.{i}")
        strips.append(at)
        if fed:
            supplies[at] = chance.choice([1000.0, 2000.0])
    taken: list[str] = []
    for number in range(devices):
        # The first controller is the favourite, as in life: its sockets are at the front of the list.
        if not free:
            break
        at = free.pop(chance.randrange(max(1, len(free) * 2 // 3)))
        _, speed, ma, endpoints = chance.choice(SHAPES)
        draws = min(ma, 100) if at.rpartition(".")[0] in strips and at.rpartition(".")[0] not in supplies else ma
        parts.append(device(at, speed, draws, *endpoints, serial=f"S{number}" if chance.random() < 0.5 else None))
        taken.append(at)
    pairs = [(taken[i], taken[i + 1]) for i in range(0, min(6, len(taken) - 1), 2)]
    told = Setup(supplies_ma=supplies, pinned=tuple(taken[-3:]), apart=tuple(pairs))
    return snapshot(*parts), told
