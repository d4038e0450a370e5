"""A snapshot for an arrangement: who would be called what, at which speed, if every plug sat where it is put."""

from collections.abc import Mapping
from typing import Any

from wizard.budget.setup import Setup
from wizard.bus.model import MBPS, Device, Snapshot
from wizard.plan.arrange.desk import Desk, Place, Plug

Arrangement = Mapping[str, str]
"""Place by plug, both by id. A plug that is not in it is unplugged, with whatever hangs on it."""


_NOT_OF_DEVICES = frozenset({"group_ma", "offers", "endpoint_limit", "slot_limit", "controller_age"})
"""What is told of feeds, sockets and controllers stays with them."""


class Layout:
    """The outcome of an arrangement. `new_id` is by old id of a device; `old_id` the other way round."""

    def __init__(self, desk: Desk, arrangement: Arrangement) -> None:
        self._desk = desk
        self._arrangement = arrangement
        self._hubs: dict[str, str | None] = {}
        self.new_id: dict[str, str] = {}
        devices: list[Device] = [d for d in desk.snapshot.devices if d.root or d.id not in desk.plug_of]
        taken: set[str] = set()
        for plug in desk.plugs.values():
            for half in plug.halves:
                device = self._settled(plug, desk.tree.devices[half])
                if device is not None and device.id not in taken:
                    taken.add(device.id)
                    self.new_id[half] = device.id
                    devices.append(device)
        self.old_id = {new: old for old, new in self.new_id.items()}
        self.snapshot: Snapshot = desk.snapshot.model_copy(
            update={"devices": tuple(devices), "sockets": self._sockets()}
        )
        self.setup = self._told()

    def _settled(self, plug: Plug, device: Device) -> Device | None:
        """One half of a plug where it is put; None if it is unplugged, or the fast half of a hub without fast wires."""
        at = self._arrangement.get(plug.id)
        if at is None:
            return None
        place = self._desk.places[at]
        slow, fast = self.name(place, place.slow), self.name(place, place.fast)
        chosen = fast if device.is_super and fast is not None else slow
        if chosen is None or (device.is_super and fast is None and device.hub is not None and len(plug.halves) > 1):
            return None
        changes: dict[str, object] = {"id": chosen, "parent": _parent(chosen)}
        if device.is_super and fast is None:
            changes |= {"speed": "high", "mbps": MBPS["high"]}
        return device.model_copy(update=changes)

    def name(self, place: Place, half: str | None) -> str | None:
        """What one half of a place is called once its hub sits where it is put; None if it has no wires then."""
        if half is None or place.on_root:
            return half
        parent = self._desk.tree.sockets.get(half)
        hub = parent.hub if parent is not None else half.rsplit(".", 1)[0]
        named = self._hub(hub)
        return None if named is None else f"{named}.{half.rsplit('.', 1)[-1]}"

    def _hub(self, half: str) -> str | None:
        """The new id of one half of a hub."""
        if half not in self._hubs:
            self._hubs[half] = half  # a snapshot with a ring of hubs ends here
            plug = self._desk.plug_of.get(half)
            if plug is not None:
                at = self._arrangement.get(plug)
                fast = self._desk.tree.devices[half].is_super
                place = None if at is None else self._desk.places[at]
                self._hubs[half] = None if place is None else self.name(place, place.fast if fast else place.slow)
        return self._hubs[half]

    def was(self, where: str) -> str:
        """A place of the new ledger by its old id."""
        base, slash, rest = where.partition("/")
        return f"{self.old_id.get(base, base)}{slash}{rest}"

    def _sockets(self) -> tuple[object, ...]:
        renamed = []
        for socket in self._desk.snapshot.sockets:
            hub = self._desk.tree.devices.get(socket.hub)
            if hub is None or hub.root:
                renamed.append(socket)
                continue
            named = self._hub(socket.hub)
            if named is not None:
                port = socket.id.rsplit(".", 1)[-1]
                peer = self._peer(socket.peer)
                renamed.append(socket.model_copy(update={"id": f"{named}.{port}", "hub": named, "peer": peer}))
        return tuple(renamed)

    def _peer(self, peer: str | None) -> str | None:
        known = self._desk.tree.sockets.get(peer) if peer is not None else None
        if peer is None or known is None:
            return None
        named = self._hub(known.hub)
        return None if named is None else f"{named}.{peer.rsplit('.', 1)[-1]}"

    def _told(self) -> Setup:
        """What was told of a device follows it, what was told of a hub's sockets follows the hub."""
        told = self._desk.setup
        changes: dict[str, Any] = {}
        for field, values in told:
            if isinstance(values, dict) and values and field not in _NOT_OF_DEVICES:
                changes[field] = {self.new_id.get(key, key): value for key, value in values.items()}
        if told.offers:
            changes["offers"] = {self._socket(key): value for key, value in told.offers.items()}
        return told.model_copy(update=changes) if changes else told

    def _socket(self, socket: str) -> str:
        hub, dot, port = socket.rpartition(".")
        named = self._hub(hub) if dot and hub in self._desk.tree.devices else None
        return socket if named is None else f"{named}.{port}"


def as_it_is(desk: Desk) -> dict[str, str]:
    """The arrangement of the snapshot itself."""
    return {plug.id: plug.at for plug in desk.plugs.values()}


def _parent(identifier: str) -> str:
    return identifier.rsplit(".", 1)[0] if "." in identifier else f"usb{identifier.split('-', 1)[0]}"
