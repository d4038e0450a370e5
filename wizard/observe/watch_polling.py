"""Looking again and again: who is on the bus now, and what changed since the last time.

Shared by every system: whoever can list the bus makes a `Roll`, and `differences` says what happened in
between. Knows ids, addresses, speeds; not how they are listed. Cheap enough for several times a second.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Protocol

from wizard.bus.tree import natural_key
from wizard.bus.watching import RESUMED, SETTING, SPEED, SUSPENDED


@dataclass(frozen=True)
class Present:
    """One device that is there. `address` changes whenever it comes back; None where the system does not tell.

    `state` is `active` or `suspended`, `over_current` how often each socket of a hub shut off for too much
    current, `setting` which configuration is in use.
    """

    address: int | None = None
    mbps: float | None = None
    state: str | None = None
    setting: int | None = None
    over_current: Mapping[str, int] | None = None
    name: str | None = None


Roll = Mapping[str, Present]
"""Everything that is there, by id."""


class Lister(Protocol):
    """Whoever can list the bus."""

    def take(self) -> Roll | None:
        """The bus as it is now; None if it could not be listed. Never waits long and never raises."""


@dataclass(frozen=True)
class Change:
    """One difference between two rolls. `kind` is that of the event it stands for; `address` the device's."""

    kind: str
    where: str
    text: str
    address: int | None = None
    count: int = 1


def differences(before: Roll, after: Roll) -> Iterator[Change]:
    """What happened between two rolls: first who left (hubs last), then who came (hubs first), then what changed."""
    for name in sorted(before, key=natural_key, reverse=True):
        if name not in after or _is_another(before[name], after[name]):
            yield gone(name, before[name].address)
    for name in sorted(after, key=_top_down):
        if name not in before or _is_another(before[name], after[name]):
            yield came(name, after[name].address, after[name].mbps)
        else:
            yield from _changed(name, before[name], after[name])


def came(name: str, address: int | None, mbps: float | None = None) -> Change:
    """A device is there that was not."""
    speed = "" if mbps is None else f" at {mbps:g} Mbit/s"
    return Change("connect", name, f"plugged in, or back{speed}", address)


def gone(name: str, address: int | None) -> Change:
    """A device is no longer there."""
    return Change("disconnect", name, "unplugged, or gone", address)


def tripped(socket: str, times: int = 1, total: int | None = None) -> Change:
    """A socket shut off because too much current flowed."""
    so_far = "" if total is None else f" ({total} times since the computer started)"
    return Change("over_current", socket, f"the socket was shut off for too much current{so_far}", count=times)


def _top_down(name: str) -> tuple[int, tuple[tuple[int, int | str], ...]]:
    return (0 if name.startswith("usb") else 1, natural_key(name))


def _is_another(before: Present, after: Present) -> bool:
    """Whether it left and came back in between: then it has another address (USB 2.0 §9.1.1.4, the host's choice)."""
    return None not in (before.address, after.address) and before.address != after.address


def _changed(name: str, before: Present, after: Present) -> Iterator[Change]:
    if before.mbps is not None and after.mbps is not None and before.mbps != after.mbps:
        yield Change(SPEED, name, f"from {before.mbps:g} to {after.mbps:g} Mbit/s", after.address)
    if before.setting is not None and after.setting is not None and before.setting != after.setting:
        yield Change(SETTING, name, f"configuration {after.setting} instead of {before.setting}", after.address)
    # The PC's own sockets fall asleep and wake up with everything that is plugged: that says nothing of trouble.
    if not name.startswith("usb") and None not in (before.state, after.state) and before.state != after.state:
        if after.state == "suspended":
            yield Change(SUSPENDED, name, "put to sleep to save power", after.address)
        elif before.state == "suspended":
            yield Change(RESUMED, name, "awake again", after.address)
    for socket, count in (after.over_current or {}).items():
        more = count - (before.over_current or {}).get(socket, count)
        if more > 0:
            yield tripped(socket, more, count)
