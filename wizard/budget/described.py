"""A set-up described by hand: hosts with sockets, hubs, and typical devices in them, as a snapshot like any other.

Immutable: every step gives a new value, and whatever it is given stays as it was. What comes out is marked
`typical`, device by device, so that the ledger calls its figures assumed. Knows no files, no window and no texts:
kinds and their names are handed in.
"""

from collections.abc import Sequence
from typing import Literal

from pydantic import Field

from wizard.budget.kinds import DeviceKind
from wizard.budget.replug import Add, Change, Remove, replugged
from wizard.budget.setup import Cable, Setup
from wizard.bus.document import Document
from wizard.bus.errors import BadInputError
from wizard.bus.model import (
    MBPS,
    Alternate,
    Controller,
    ControllerKind,
    Device,
    Endpoint,
    Hub,
    Interface,
    Snapshot,
    Socket,
    Speed,
    System,
    Typical,
)
from wizard.bus.tree import BusTree, natural_key

MOST_SOCKETS = 15
"""Sockets of one root hub or hub. A hub's port count is a byte, and 15 is what a SuperSpeed route can name: USB 3.2
§8.9 (from memory)."""


class Host(Document):
    """A controller to begin with: so many sockets of USB 2 alone, and so many of USB 3 at the rate given.

    `kind` other than xhci has no USB 3 sockets.
    """

    usb2: int = Field(default=0, ge=0, le=MOST_SOCKETS)
    usb3: int = Field(default=0, ge=0, le=MOST_SOCKETS)
    usb3_speed: Literal["super", "super_plus"] = "super"
    kind: ControllerKind = "xhci"


class HubMade(Document):
    """A hub to add: its sockets, whether it is a USB 3 hub (then it has two halves), its translator, and its supply
    in mA (0: fed by the socket; None: it has one, of unknown rating)."""

    ports: int = Field(ge=1, le=MOST_SOCKETS)
    usb3: bool = False
    translator: Literal["single", "multi"] = "single"
    supply_ma: float | None = Field(default=None, ge=0, allow_inf_nan=False)


class Described(Document):
    """A set-up described by hand. `snapshot` and `setup` go wherever those of a look go; a value made of the two of a
    saved case goes on where it was left. Socket ids are those of the snapshot; either half of a USB 3 socket may be
    named. Every method that plugs raises BadInputError if there is no such socket or something is in it."""

    snapshot: Snapshot
    setup: Setup = Setup()

    def with_device(self, socket: str, kind: DeviceKind, name: str, cable: Cable | None = None) -> "Described":
        """One device of a kind (a hub among them) plugged in, under that name; its cable where it is known."""
        change = kind.to_plug(socket, name)
        after = self._after(change)
        if cable is None:
            return after
        plugged = max(after._ids() - self._ids(), key=natural_key)
        cables = {**after.setup.cables, plugged: cable}
        return after._with_setup(cables=cables)

    def with_hub(self, socket: str, made: HubMade, name: str) -> "Described":
        """A hub plugged in, as it was described; what its supply gives is told for both halves."""
        slow = _hub(made, name, "high")
        after = self._after(Add(_hub(made, name, "super"), socket, slow) if made.usb3 else Add(slow, socket))
        if not made.supply_ma:
            return after
        supplies = {**after.setup.supplies_ma, **dict.fromkeys(after._ids() - self._ids(), made.supply_ma)}
        return after._with_setup(supplies_ma=supplies)

    def without(self, device: str) -> "Described":
        """The set-up without a device and all that hangs on it. Raises BadInputError if there is no such device."""
        return self._after(Remove(device))

    def free_sockets(self) -> tuple[str, ...]:
        """Sockets that something could be plugged into, each once: a USB 3 socket by its USB 2 half."""
        taken = self._ids()
        found = [
            s.id
            for s in self.snapshot.sockets
            if s.id not in taken and s.peer not in taken and not _is_fast_half(s, self.snapshot)
        ]
        return tuple(sorted(found, key=natural_key))

    def _ids(self) -> set[str]:
        return {d.id for d in self.snapshot.devices}

    def _after(self, change: Change) -> "Described":
        result = replugged(BusTree(self.snapshot), self.setup, change)
        return Described(snapshot=result.snapshot, setup=result.setup)

    def _with_setup(self, **changes: object) -> "Described":
        return Described(snapshot=self.snapshot, setup=self.setup.model_copy(update=changes))


def described(hosts: Sequence[Host], os: str | None = None) -> Described:
    """A set-up to begin with: these hosts, with nothing plugged in. `os` is a system's word (`windows`, `linux`,
    `macos`), for what depends on it.

    Controllers are `host-1` …; the first one's buses are `usb1` and `usb2`. Raises BadInputError for a host without
    sockets and for USB 3 sockets on a controller that has none.
    """
    controllers: list[Controller] = []
    devices: list[Device] = []
    sockets: list[Socket] = []
    for number, host in enumerate(hosts, 1):
        name = f"host-{number}"
        if not host.usb2 + host.usb3:
            raise BadInputError(name, "it has no sockets", "Give it at least one.")
        if host.usb3 and host.kind != "xhci":
            raise BadInputError(
                name, f"a controller of kind {host.kind} has no USB 3 sockets", "Give it none, or xhci."
            )
        controllers.append(Controller(id=name, kind=host.kind))
        slow, fast = 2 * number - 1, 2 * number
        ports = host.usb2 + host.usb3
        devices.append(_root(slow, name, ports, "full" if host.kind in ("uhci", "ohci") else "high"))
        sockets += [_socket(slow, port, fast if port <= host.usb3 else None) for port in range(1, ports + 1)]
        if host.usb3:
            devices.append(_root(fast, name, host.usb3, host.usb3_speed))
            sockets += [_socket(fast, port, slow) for port in range(1, host.usb3 + 1)]
    snapshot = Snapshot(
        system=System(os=os), controllers=tuple(controllers), sockets=tuple(sockets), devices=tuple(devices)
    )
    return Described(snapshot=snapshot)


def _socket(bus: int, port: int, peer_bus: int | None) -> Socket:
    return Socket(
        id=f"{bus}-{port}", hub=f"usb{bus}", peer=None if peer_bus is None else f"{peer_bus}-{port}", usable=True
    )


def _root(bus: int, controller: str, ports: int, speed: Speed) -> Device:
    return Device(
        id=f"usb{bus}",
        parent=controller,
        root=True,
        hub=Hub(ports=ports, translator="none"),
        speed=speed,
        mbps=MBPS[speed],
        self_powered=True,
        max_power_ma=0,
        typical=Typical(kind="host"),
    )


def _hub(made: HubMade, name: str, speed: Speed) -> Device:
    """A hub with its one endpoint, which tells of changes at its sockets: USB 2.0 §11.12.1."""
    changes = Endpoint(address=0x81, type="interrupt", max_packet=1 + made.ports // 8, interval_us=256_000)
    interface = Interface.model_validate(
        {"number": 0, "class": 9, "active_alternate": 0, "alternates": [Alternate(number=0, endpoints=(changes,))]}
    )
    return Device(
        id=f"new-{speed}",
        hub=Hub(ports=made.ports, translator=made.translator if speed == "high" else "none"),
        speed=speed,
        mbps=MBPS[speed],
        max_power_ma=0 if made.supply_ma != 0 else 100,
        self_powered=made.supply_ma != 0,
        configuration=1,
        interfaces=(interface,),
        name=name,
        typical=Typical(kind="hub"),
    )


def _is_fast_half(socket: Socket, snapshot: Snapshot) -> bool:
    return socket.peer is not None and any(d.id == socket.hub and d.is_super for d in snapshot.devices)
