"""Desks small enough to try every arrangement on, and what trying them all says."""

from collections.abc import Iterator, Mapping
from typing import Any

from builders import controller, device, hub, interrupt, iso, root, snapshot
from hypothesis import strategies as st

from wizard.budget.ledger import build_ledger
from wizard.budget.setup import Setup
from wizard.bus.model import Snapshot, Socket
from wizard.plan.arrange.clock import Clock
from wizard.plan.arrange.desk import Desk
from wizard.plan.arrange.held import must_hold
from wizard.plan.arrange.layout import Layout

FOREVER = Clock(lambda: 60.0)


def sound(desk: Desk, arrangement: Mapping[str, str]) -> bool:
    """Whether the budget engine finds nothing overdrawn."""
    layout = Layout(desk, arrangement)
    ledger = build_ledger(layout.snapshot, layout.setup)
    return not [e for e in ledger if e.state == "over" and must_hold(e, "greatest")]


def every_arrangement(desk: Desk) -> Iterator[dict[str, str]]:
    """All ways to plug what may be moved; a ring of hubs is none, nor are two devices to keep apart side by side."""
    plugs = list(desk.plugs.values())

    def place(number: int, so_far: dict[str, str]) -> Iterator[dict[str, str]]:
        if number == len(plugs):
            if not _rings(desk, so_far) and _as_wished(desk, so_far):
                yield dict(so_far)
            return
        plug = plugs[number]
        spots = desk.places.values() if plug.movable else [desk.places[plug.at]]
        for spot in spots:
            if spot.id not in so_far.values() and desk.allows(plug, spot):
                yield from place(number + 1, {**so_far, plug.id: spot.id})

    yield from place(0, {})


def _rings(desk: Desk, arrangement: Mapping[str, str]) -> bool:
    for plug in arrangement:
        above = desk.hub_plug(desk.places[arrangement[plug]])
        seen = {plug}
        while above is not None:
            if above in seen:
                return True
            seen.add(above)
            above = desk.hub_plug(desk.places[arrangement[above]])
    return False


def _as_wished(desk: Desk, arrangement: Mapping[str, str]) -> bool:
    strips = {plug: desk.places[at].strip for plug, at in arrangement.items()}
    return all(strips[a] != strips[b] for a, b in desk.setup.apart)


def cost(desk: Desk, arrangement: Mapping[str, str]) -> tuple[int, int]:
    """Plugs moved, and how many of them the system will forget."""
    moved = [p for p in desk.plugs.values() if arrangement[p.id] != p.at]
    return len(moved), sum(1 for p in moved if not p.numbered)


@st.composite
def small_desks(draw: st.DrawFn) -> tuple[Snapshot, Setup]:
    parts: list[Any] = []
    supplies: dict[str, float] = {}
    for number in range(1, draw(st.integers(1, 2)) + 1):
        name = f"0000:0{number}:00.0"
        parts += [controller(name), root(number, parent=name, ports=2)]
        parts += [Socket(id=f"{number}-{i}", hub=f"usb{number}", group="feed") for i in (1, 2)]
    fed = draw(st.booleans())
    strip = hub("1-1", translator=draw(st.sampled_from(["single", "multi"])), ports=3, self_powered=fed)
    parts += [strip, *(Socket(id=f"1-1.{i}", hub="1-1") for i in (1, 2, 3))]
    if fed:
        supplies["1-1"] = draw(st.sampled_from([500.0, 1000.0]))
    shapes = ((iso(1023),), (iso(400),), (interrupt(64, 1000), interrupt(64, 1000, 0x02)), ())
    for port in range(1, draw(st.integers(1, 3)) + 1):
        shape = draw(st.sampled_from(shapes))
        serial = draw(st.sampled_from([None, "S"]))
        parts.append(device(f"1-1.{port}", "full", draw(st.sampled_from([50, 100, 400])), *shape, serial=serial))
    if draw(st.booleans()):
        parts.append(device("1-2", "high", 100, iso(1024, 125, transactions=draw(st.integers(1, 3)))))
    return snapshot(*parts), Setup(supplies_ma=supplies, group_ma=draw(st.sampled_from([{}, {"feed": 450.0}])))


def best_cost(desk: Desk) -> tuple[int, int] | None:
    """The least that any sound arrangement costs; None if there is none."""
    return min((cost(desk, a) for a in every_arrangement(desk) if sound(desk, a)), default=None)


@st.composite
def nested_desks(draw: st.DrawFn) -> tuple[Snapshot, Setup]:
    """Two hubs that may go onto each other, on one or two controllers; endpoints may be short, a pair kept apart."""
    parts: list[Any] = []
    buses = draw(st.integers(1, 2))
    for number in range(1, buses + 1):
        name = f"0000:0{number}:00.0"
        ports = draw(st.integers(1, 2)) if number == 1 else 1
        parts += [controller(name), root(number, parent=name, ports=ports)]
        parts += [Socket(id=f"{number}-{i}", hub=f"usb{number}") for i in range(1, ports + 1)]
    fed = draw(st.booleans())
    parts += [hub("1-1", ports=2), Socket(id="1-1.1", hub="1-1"), Socket(id="1-1.2", hub="1-1")]
    parts += [
        hub("1-1.1", ports=2, self_powered=fed),
        Socket(id="1-1.1.1", hub="1-1.1"),
        Socket(id="1-1.1.2", hub="1-1.1"),
    ]
    shapes = ((iso(1023),), (iso(400),), (interrupt(64, 1000),), ())
    places = draw(st.lists(st.sampled_from(["1-1.2", "1-1.1.1", "1-1.1.2"]), unique=True, max_size=2))
    for at in places:
        shape = draw(st.sampled_from(shapes))
        serial = draw(st.sampled_from([None, "S"]))
        parts.append(device(at, "full", draw(st.sampled_from([50, 100, 300])), *shape, serial=serial))
    limits = draw(st.sampled_from([{}, {"0000:01:00.0": 4}]))
    apart = draw(st.sampled_from([(), (tuple(places),)])) if len(places) == 2 else ()
    return snapshot(*parts), Setup(endpoint_limit=limits, apart=apart)


@st.composite
def fast_desks(draw: st.DrawFn) -> tuple[Snapshot, Setup]:
    """USB 3: sockets and a hub with two halves each; fast and slow devices, a hub fed by the bus or by itself."""
    name = "0000:01:00.0"
    parts: list[Any] = [controller(name), root(1, parent=name, ports=3), root(2, "super", name, ports=2)]
    parts += [Socket(id=f"1-{i}", hub="usb1", peer=f"2-{i}") for i in (1, 2)]
    parts += [Socket(id=f"2-{i}", hub="usb2", peer=f"1-{i}") for i in (1, 2)]
    parts.append(Socket(id="1-3", hub="usb1"))
    fed = draw(st.booleans())
    parts += [hub("1-1", ports=2, self_powered=fed), hub("2-1", "super", ports=2, self_powered=fed)]
    for i in (1, 2):
        parts.append(Socket(id=f"1-1.{i}", hub="1-1", peer=f"2-1.{i}"))
        parts.append(Socket(id=f"2-1.{i}", hub="2-1", peer=f"1-1.{i}"))
    for port in range(1, draw(st.integers(0, 2)) + 1):
        speed = draw(st.sampled_from(["super", "full"]))
        shape = (iso(1023),) if speed == "full" else ()
        at = f"{2 if speed == 'super' else 1}-1.{port}"
        serial = draw(st.sampled_from([None, "S"]))
        parts.append(device(at, speed, draw(st.sampled_from([100, 400, 800])), *shape, serial=serial))
    supplies = draw(st.sampled_from([{}, {"1-1": 600.0}])) if fed else {}
    return snapshot(*parts), Setup(supplies_ma=supplies)
