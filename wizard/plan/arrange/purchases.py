"""Helpers that could be bought, each as a specification, and the desk with one of them in its box.

A helper lies in a box beside the PC, a root hub of our own making, and must leave it: where it is plugged in
is for the search to say. What it must be able to do follows from what the search puts on it.
"""

from collections.abc import Mapping
from dataclasses import replace
from math import ceil
from typing import Literal

from wizard.budget.limits import FULL_LOAD_MA, FULL_LOAD_SUPER_MA
from wizard.bus.document import Document
from wizard.bus.model import MBPS, Controller, Device, Hub, Socket
from wizard.plan.arrange.desk import Desk, Place, survey

HelperKind = Literal["hub_usb2", "hub_usb3", "card", "supply", "cable", "extension"]

BOX = "900"
"""Number of the bus that stands for the box; no PC has so many."""

SOCKETS: Mapping[HelperKind, int] = {"hub_usb2": 7, "hub_usb3": 7, "card": 4}
"""Sockets of a helper as commonly sold: common practice (no source)."""

MARGIN = 1.25
"""A supply is asked for with a quarter to spare: common practice (no source)."""

SHORTEST_USEFUL_M = 0.8
"""Lead of a hub that reaches from the back of a PC to a desk: common practice (no source)."""


class Helper(Document):
    """What to ask for in a shop. `id` is what it is called in moves; `at` the socket it goes into, None for a card, of
    a supply the hub and of a cable the device that it is for; `supply_ma` at 5 V; `translator` of a hub;
    `cable_m` of a hub's lead at least, of a cable at most, of an extension at least; `gauge` of its power wires (AWG);
    `own_controller` of a card."""

    id: str
    kind: HelperKind
    spend: Literal["low", "medium", "high"]
    sockets: int = 0
    generation: Literal["usb2", "usb3"] | None = None
    at: str | None = None
    supply_ma: int | None = None
    translator: Literal["multi"] | None = None
    cable_m: float | None = None
    gauge: int | None = None
    own_controller: bool = False
    opens_case: bool = False


def with_helper(desk: Desk, kind: HelperKind) -> Desk:
    """The desk with one helper more, still in its box; a card is taken to be in its slot already. What is no hub and
    no card changes no sockets."""
    if kind not in SOCKETS:
        return desk
    snapshot = desk.snapshot
    parts = _card() if kind == "card" else _boxed_hub(kind)
    controllers, devices, sockets = parts
    wider = snapshot.model_copy(
        update={
            "controllers": (*snapshot.controllers, *controllers),
            "devices": (*snapshot.devices, *devices),
            # What the survey found out about places must not get lost: not every system lists sockets.
            "sockets": (*snapshot.sockets, *sockets),
        }
    )
    found = survey(wider, desk.setup)
    if kind == "card":
        return found
    box = f"{BOX}-1"
    places = {**found.places, box: replace(found.places[box], open=False)}
    return replace(found, places=places)


def helper_plug(kind: HelperKind) -> str | None:
    """The plug that a helper is on the desk; a card is none."""
    return None if kind == "card" else f"{BOX}-1"


def _root(number: str, parent: str, fast: bool, ports: int) -> Device:
    speed: Literal["super", "high"] = "super" if fast else "high"
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


def _both(number: str, other: str, ports: int) -> list[Socket]:
    slow = [Socket(id=f"{number}-{i}", hub=f"usb{number}", peer=f"{other}-{i}") for i in range(1, ports + 1)]
    return [*slow, *(Socket(id=s.peer or "", hub=f"usb{other}", peer=s.id) for s in slow)]


def _card() -> tuple[list[Controller], list[Device], list[Socket]]:
    name, slow, fast = "new-card", BOX, "901"
    ports = SOCKETS["card"]
    sockets = [s.model_copy(update={"place": "card"}) for s in _both(slow, fast, ports)]
    roots = [_root(slow, name, False, ports), _root(fast, name, True, ports)]
    return [Controller(id=name, kind="xhci")], roots, sockets


def _hub_half(number: str, fast: bool, ports: int) -> Device:
    speed: Literal["super", "high"] = "super" if fast else "high"
    return Device(
        id=f"{number}-1",
        parent=f"usb{number}",
        hub=Hub(ports=ports, translator="none" if fast else "multi"),
        speed=speed,
        mbps=MBPS[speed],
        self_powered=True,
        max_power_ma=0,
        serial="new",
    )


def _boxed_hub(kind: HelperKind) -> tuple[list[Controller], list[Device], list[Socket]]:
    slow, fast, ports = BOX, "901", SOCKETS[kind]
    devices = [_root(slow, "box", False, 1), _hub_half(slow, False, ports)]
    if kind == "hub_usb2":
        sockets = [Socket(id=f"{slow}-1", hub=f"usb{slow}")]
        return [], devices, [*sockets, *(Socket(id=f"{slow}-1.{i}", hub=f"{slow}-1") for i in range(1, ports + 1))]
    devices += [_root(fast, "box", True, 1), _hub_half(fast, True, ports)]
    sockets = _both(slow, fast, 1)
    for i in range(1, ports + 1):
        sockets.append(Socket(id=f"{slow}-1.{i}", hub=f"{slow}-1", peer=f"{fast}-1.{i}"))
        sockets.append(Socket(id=f"{fast}-1.{i}", hub=f"{fast}-1", peer=f"{slow}-1.{i}"))
    return [], devices, sockets


def specification(desk: Desk, kind: HelperKind, arrangement: Mapping[str, str]) -> Helper:
    """What the helper must be, from what an arrangement puts on it."""
    plug = helper_plug(kind)
    on_it = [p for p, at in arrangement.items() if _belongs(desk.places[at], plug)]
    sockets = max(4, len(on_it) + 1)
    if plug is None:
        return Helper(
            id="new-card", kind="card", spend="medium", sockets=SOCKETS["card"], generation="usb3",
            own_controller=True, opens_case=True,
        )  # fmt: skip
    drawn = sum(desk.plugs[p].draws_ma or 0.0 for p in on_it)
    each = FULL_LOAD_SUPER_MA.value if kind == "hub_usb3" else FULL_LOAD_MA.value
    # Enough for what is put on it with some to spare, and for one hungry device more.
    supply = ceil(max(drawn * MARGIN, drawn + each) / 500) * 500
    return Helper(
        id=plug,
        kind=kind,
        spend="low" if kind == "hub_usb2" else "medium",
        sockets=sockets,
        generation="usb2" if kind == "hub_usb2" else "usb3",
        at=arrangement[plug],
        supply_ma=supply,
        translator="multi",
        cable_m=SHORTEST_USEFUL_M,
    )


def _belongs(place: Place, plug: str | None) -> bool:
    return place.hub == plug if plug is not None else place.hub == f"usb{BOX}"
