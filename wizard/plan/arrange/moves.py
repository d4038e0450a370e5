"""The moves from the desk as it is to an arrangement, in an order that can be done with two hands.

A plug goes only into a place that is free by then; hubs go before what hangs on them; no state in between
overdraws a budget that was not overdrawn before, where that can be had. Where plugs must change places, one
is laid aside first.
"""

from collections.abc import Mapping

from pydantic import Field

from wizard.budget.ledger import build_ledger
from wizard.bus.document import Document
from wizard.bus.tree import natural_key
from wizard.plan.arrange.desk import Desk
from wizard.plan.arrange.layout import Layout, as_it_is


class PlugMove(Document):
    """One move. `from_` and `to` are sockets by the ids they have now; `to` is None where a plug is laid aside for
    a moment. `forgets` says that the system may take it, or something that hangs on it, for a new device there, having
    no serial number, and `memory` what it then loses (`input`, `sound`, `serial`, `drive`, `printer`, `camera` or
    `other`); `memories` is all of that, where a hub takes several devices along."""

    device: str
    from_: str | None = Field(alias="from")
    to: str | None
    forgets: bool = False
    memory: str | None = None
    memories: tuple[str, ...] = ()


def in_order(desk: Desk, arrangement: Mapping[str, str]) -> tuple[PlugMove, ...]:
    """The moves that lead to an arrangement."""
    now = as_it_is(desk)
    left = [p for p in now if arrangement[p] != now[p]]
    left.sort(key=lambda p: (not desk.plugs[p].is_hub, natural_key(p)))
    over = _overdrawn(desk, now)
    laid_aside: dict[str, str] = {}
    moves: list[PlugMove] = []
    while left:
        taken = {at: p for p, at in now.items()}
        ready = [p for p in left if arrangement[p] not in taken and _hub_of(desk, arrangement[p]) not in left]
        if not ready:
            stuck = next(taken[arrangement[p]] for p in left if arrangement[p] in taken)
            laid_aside[stuck] = now.pop(stuck)
            moves.append(PlugMove(device=stuck, from_=laid_aside[stuck], to=None))
            continue
        chosen = next((p for p in ready if _overdrawn(desk, {**now, p: arrangement[p]}) <= over), ready[0])
        came_from = None if chosen in laid_aside else now[chosen]
        now[chosen] = arrangement[chosen]
        memories = _memories(desk, now, chosen)
        moves.append(
            PlugMove(
                device=chosen,
                from_=came_from,
                to=arrangement[chosen],
                forgets=bool(memories),
                memory=next(iter(memories), None),
                memories=memories,
            )
        )
        left.remove(chosen)
    return tuple(moves)


MEMORY_BY_CLASS = {0x01: "sound", 0x02: "serial", 0x03: "input", 0x07: "printer", 0x08: "drive", 0x0E: "camera"}
"""What a system remembers of a device, by interface class (USB-IF Defined Class Codes)."""


def _memories(desk: Desk, now: Mapping[str, str], chosen: str) -> tuple[str, ...]:
    """What the system loses of a plug and of all that hangs on it by now. A hub itself has nothing to be remembered."""
    along = [p for p in now if chosen in _above(desk, now, p)]
    lost = {memory_of(desk, p) for p in (chosen, *along) if not desk.plugs[p].numbered and not desk.plugs[p].is_hub}
    return tuple(m for m in (*MEMORY_BY_CLASS.values(), "other") if m in lost)


def _above(desk: Desk, now: Mapping[str, str], plug: str) -> set[str]:
    found: set[str] = set()
    at = desk.hub_plug(desk.places[now[plug]])
    while at is not None and at not in found and at in now:
        found.add(at)
        at = desk.hub_plug(desk.places[now[at]])
    return found


def memory_of(desk: Desk, plug: str) -> str:
    """What a system remembers of a plug: a value of `MEMORY_BY_CLASS`, or `other`."""
    devices = [desk.tree.devices[half] for half in desk.plugs[plug].halves]
    classes = [i.class_code for d in devices for i in d.interfaces]
    drivers = {i.driver or "" for d in devices for i in d.interfaces}
    if any("serial" in d or d in ("ftdi_sio", "cp210x", "ch341", "pl2303") for d in drivers):
        return "serial"
    return next((MEMORY_BY_CLASS[c] for c in classes if c in MEMORY_BY_CLASS), "other")


def _hub_of(desk: Desk, place: str) -> str | None:
    return desk.hub_plug(desk.places[place])


def _overdrawn(desk: Desk, places: Mapping[str, str]) -> frozenset[tuple[str, str]]:
    """Entries over in a state in between, by their places as they are called now."""
    layout = Layout(desk, places)
    ledger = build_ledger(layout.snapshot, layout.setup)
    return frozenset((e.budget, layout.was(e.where)) for e in ledger if e.state == "over")
