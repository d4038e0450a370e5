"""The sockets of one hub, as Linux describes them in the folders of its ports. Knows no device in them.

Port attributes: Documentation/ABI/testing/sysfs-bus-usb (`connect_type`, `over_current_count`,
`peer`, `connector`), sysfs-devices-physical_location (`panel`, `dock`), sysfs-class-typec. None of those read here
waits for a locked hub; `disable`, which does, is not read.
"""

import re
from dataclasses import dataclass, field

from wizard.bus.model import ControllerKind, Socket, Unreadable
from wizard.observe.sysfs.index import DevicePlace, socket_id
from wizard.observe.sysfs.tree import Reading, Tree
from wizard.observe.words import number_in, text_of

_PORT = re.compile(r"(?:(usb[0-9]{1,5}|[0-9]{1,5}-[0-9.]{1,30})-)?port([1-9][0-9]{0,2})")
_MOST_PORTS = 255  # bNbrPorts is one byte: USB 2.0 Table 11-13

_PLACES = {
    "front": "front",
    "back": "rear",
    "left": "left side",
    "right": "right side",
    "top": "top",
    "bottom": "bottom",
}

_EXPECTED = ("connect_type", "over_current_count")
_OFFERS = {"1.5A": 1500.0, "3.0A": 3000.0}  # Documentation/ABI/testing/sysfs-class-typec


@dataclass(frozen=True)
class RawPort:
    """What the folder of one port told. `peer` is the name of the linked port's folder."""

    number: int
    found: dict[str, Reading] = field(default_factory=dict)
    peer: str | None = None
    has_connector: bool = False

    def word(self, name: str) -> str:
        """An attribute as text; empty if it is missing or unreadable."""
        reading = self.found.get(name)
        return text_of(reading) if isinstance(reading, bytes) else ""


def read_ports(tree: Tree, hub: DevicePlace) -> list[RawPort]:
    """Read the port folders below a hub's interfaces; older kernels have none, or call them `portN`."""
    ports: dict[int, RawPort] = {}
    for interface in hub.interfaces:
        for name, kind in tree.names(interface.path).items():
            number = _port_number(name, hub.id) if kind == "folder" else None
            if number is not None:
                ports[number] = _read_port(tree, f"{interface.path}/{name}", number)
    return [ports[number] for number in sorted(ports)]


def _port_number(name: str, hub: str) -> int | None:
    match = _PORT.fullmatch(name)
    if match is None or match[1] not in (None, hub) or int(match[2]) > _MOST_PORTS:
        return None
    return int(match[2])


def _read_port(tree: Tree, folder: str, number: int) -> RawPort:
    there = tree.names(folder)
    found: dict[str, Reading] = {}
    tree.read_into(found, folder, ("connect_type", "over_current_count"))
    if "physical_location" in there:
        tree.read_into(found, f"{folder}/physical_location", ("panel", "dock"))
    has_connector = "connector" in there
    if has_connector:
        tree.read_into(found, f"{folder}/connector", ("power_role", "power_operation_mode"))
    peer = tree.link(f"{folder}/peer") if "peer" in there else None
    return RawPort(number, found, peer.rpartition("/")[2] if peer else None, has_connector)


@dataclass(frozen=True)
class HubSide:
    """What sockets take from their hub: whether it is the SuperSpeed half, and the kind of controller."""

    id: str
    is_super: bool | None
    controller: ControllerKind | None
    ports: int | None


def make_sockets(hub: HubSide, ports: list[RawPort]) -> tuple[tuple[Socket, ...], tuple[Unreadable, ...]]:
    """One socket per port. Where no port has a folder, the number of ports still tells how many there are."""
    if not ports:
        count = min(hub.ports or 0, _MOST_PORTS)
        bare = [RawPort(n) for n in range(1, count + 1)]
        return tuple(_socket(hub, port, False, []) for port in bare), ()
    troubles: list[Unreadable] = []
    linked = any(port.peer for port in ports)
    sockets = tuple(_socket(hub, port, linked, troubles) for port in ports)
    return sockets, tuple(troubles)


def _socket(hub: HubSide, port: RawPort, linked: bool, troubles: list[Unreadable]) -> Socket:
    identifier = socket_id(hub.id, port.number)
    troubles += [
        Unreadable(where=f"{identifier}/{name}", reason=reading)
        for name, reading in port.found.items()
        if isinstance(reading, str) and name in _EXPECTED
    ]
    connect = port.word("connect_type")
    peer = _peer(port.peer)
    return Socket(
        id=identifier,
        hub=hub.id,
        peer=peer,
        place=_place(port),
        shape="usb_c" if port.has_connector else None,
        generation=_generation(hub, peer, linked),
        # Linux `connect_type`: hotplug and hardwired ports lead somewhere, `not used` ones do not
        usable={"hotplug": True, "hardwired": True, "not used": False}.get(connect),
        built_in={"hotplug": False, "hardwired": True}.get(connect),
        over_current_count=_count(port, f"{identifier}/over_current_count", troubles),
        offers_ma=_offer(port),
    )


def _peer(name: str | None) -> str | None:
    """The socket a `peer` link such as `usb2-port1` or `1-4-port2` leads to."""
    match = _PORT.fullmatch(name) if name else None
    return socket_id(match[1], int(match[2])) if match and match[1] else None


def _generation(hub: HubSide, peer: str | None, linked: bool) -> str | None:
    """`usb3` with a SuperSpeed half; `usb2` where there can be none, or the kernel found none.

    The kernel pairs the ports of both halves of a hub; if it paired some, one without a peer is USB 2 only.
    """
    if hub.is_super or peer:
        return "usb3"
    if linked or hub.controller in ("uhci", "ohci", "ehci"):
        return "usb2"
    return None


def _place(port: RawPort) -> str | None:
    return "dock" if port.word("dock") == "yes" else _PLACES.get(port.word("panel"))


def _offer(port: RawPort) -> float | None:
    """What a USB Type-C socket that gives power advertises, in mA; with a power contract it is not told here."""
    return _OFFERS.get(port.word("power_operation_mode")) if "[source]" in port.word("power_role") else None


def _count(port: RawPort, where: str, troubles: list[Unreadable]) -> int | None:
    reading = port.found.get("over_current_count")
    if not isinstance(reading, bytes):
        return None
    count = number_in(reading)
    if count is None:
        troubles.append(Unreadable(where=where, reason="garbled", detail="not a number"))
    return count
