"""Reserved bus time: each USB 2 bus and each transaction translator, for the settings in use and the greatest ones.

Endpoints are polled at the power of two at or below their declared interval, as hosts do. A full- or
low-speed device below a high-speed hub spends time twice: on the translator's full-speed bus, and as split
transactions on the high-speed bus above it.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise
from math import fsum
from typing import Literal, NamedTuple

from wizard.budget.bus_time import BusSpeed, booked_us, bus_speed, service_ns
from wizard.budget.entry import Entry, Part, state_of
from wizard.budget.limits import FRAME_US, MICROFRAME_US, TRANSLATOR_US, Limit
from wizard.budget.schedule import Load, power_of_two, schedule
from wizard.budget.scope import Scope
from wizard.budget.splits import split_pieces
from wizard.bus.model import Alternate, ControllerKind, Device, Endpoint, Interface
from wizard.bus.tree import BusTree, natural_key

Settings = Literal["greatest", "current"]

LONGEST_PERIOD: dict[ControllerKind, int] = {"uhci": 32, "ohci": 32, "ehci": 8, "xhci": 128, "other": 128}
"""Longest polling period in frames: the drivers' schedules hold 32 frames on UHCI and OHCI, 64 microframes on
EHCI (Linux 6.1, measured); xHCI polls slow endpoints every 128 ms (Linux xhci-mem.c, derived)."""


TIME_BUDGETS: dict[Settings, str] = {"greatest": "periodic_time", "current": "periodic_time_active"}
"""The budget of bus time for each choice of settings."""

THINK_TIME_UNREAD = (
    "The translator's think time can't be read here and is left out (USB 2.0 §11.23.2.1: 0.67 to 2.7 us)"
)
EHCI_CAP = (
    "Linux's EHCI driver fills a translator up to 780 us of a frame only, and so refuses one full-speed stream of "
    "more than 988 bytes (ehci-sched.c max_tt_usecs, confirmed)"
)


@dataclass(frozen=True)
class Place:
    """One budget of bus time: where, its limit, the slot it is counted in, and what each transaction costs beside
    its bus time (a translator's think time)."""

    where: str
    limit: Limit
    microframes: bool
    kind: ControllerKind
    think_ns: int = 0
    note: str | None = None

    @property
    def unit(self) -> str:
        """Unit of the entry."""
        return "us/microframe" if self.microframes else "us/frame"


def periodic_entries(tree: BusTree, scope: Scope) -> tuple[Entry, ...]:
    """`periodic_time` and `periodic_time_active` of every USB 2 bus and every translator, in natural order."""
    roots = [r for r in tree.root_hubs if scope.covers(r.id)]
    devices = [d for root in roots for d in (root, *tree.below(root.id))]
    places = _places(tree, devices)
    wanted = sorted(filter(scope.covers, places), key=natural_key)
    guessed = _guessed(tree, devices)
    greatest: dict[str, Entry] = {}
    active: list[Entry] = []
    asked: tuple[Settings, ...] = ("greatest", "current")
    for settings in asked:
        loads: dict[str, list[Load]] = {where: [] for where in places}
        unread: set[str] = set()
        for device in devices:
            _spend(tree, device, settings, places, loads, unread)
        for where in wanted:
            entry = _entry(TIME_BUDGETS[settings], places[where], loads[where], where in unread)
            if settings == "greatest":
                greatest[where] = entry
            else:
                active.append(_with_guess(entry, greatest[where]) if where in guessed else entry)
    return (*greatest.values(), *active)


def _guessed(tree: BusTree, devices: Iterable[Device]) -> set[str]:
    """Places used by a device of which nobody tells the setting in use; setting 0 is taken, which may be too little."""
    guessed: set[str] = set()
    for device in devices:
        if any(not interface.setting_is_known for interface in device.interfaces):
            root, translator = tree.root_of(device.id), translator_of(tree, device)
            guessed.update({root.id if root is not None else "", translator or ""})
    return guessed


def _with_guess(now: Entry, greatest: Entry) -> Entry:
    """An entry for the settings in use where some are not known: a state only if the greatest settings agree."""
    if now.used is None or greatest.used is None or now.state == "over" or now.used == greatest.used:
        return now
    told = (
        f"Which settings are in use is not known here; at least {now.used:g} and at most {greatest.used:g} {now.unit}"
    )
    note = f"{now.note}. {told}" if now.note else told
    if now.state == greatest.state:
        return now.model_copy(update={"basis": "assumed", "note": note})
    return now.model_copy(
        update={"used": None, "state": "unknown", "basis": "assumed", "note": note, "parts": (), "mean_frame_us": None,
                "mean_frame_exact_us": None}
    )  # fmt: skip


def loads_at(tree: BusTree, where: str, settings: Settings) -> list[Load]:
    """The loads that meet at one bus or translator; empty for a place that is not there."""
    root = tree.root_of(where.split("/", 1)[0])
    if root is None:
        return []
    devices = [root, *tree.below(root.id)]
    places = _places(tree, devices)
    loads: dict[str, list[Load]] = {place: [] for place in places}
    for device in devices:
        _spend(tree, device, settings, places, loads, set())
    return loads.get(where, [])


def _places(tree: BusTree, devices: Iterable[Device]) -> dict[str, Place]:
    places: dict[str, Place] = {}
    for device in devices:
        kind = _kind(tree, device)
        if device.root and _has_usb_2_wires(tree, device):
            high = has_microframes(device)
            places[device.id] = Place(device.id, MICROFRAME_US if high else FRAME_US, high, kind)
        hub = device.hub
        if hub is not None and not device.root and device.speed == "high" and hub.translator == "single":
            places[f"{device.id}/tt"] = _translator(tree, f"{device.id}/tt", device, kind)
        served = translator_of(tree, device)
        if served is not None and served not in places:
            places[served] = _translator(tree, served, tree.devices.get(served.split("/", 1)[0]), kind)
    return places


def _has_usb_2_wires(tree: BusTree, root: Device) -> bool:
    """Whether a root hub stands for a USB 2 bus. On some systems one root hub stands for both sides of a controller:
    it is listed at SuperSpeed, or at no speed, and slower devices hang on it."""
    if root.speed is not None and not root.is_super:
        return True
    return any(bus_speed(d.speed) is not None for d in tree.children(root.id))


def has_microframes(hub: Device) -> bool:
    """Whether the USB 2 bus at a root hub runs at high speed; one that stands for both sides of a controller does."""
    return hub.speed not in ("low", "full")


def _translator(tree: BusTree, where: str, hub: Device | None, kind: ControllerKind) -> Place:
    think = hub.hub.think_ns if hub is not None and hub.hub is not None else None
    note = None if hub is None or hub.root or think is not None else THINK_TIME_UNREAD
    if kind == "ehci":
        note = f"{EHCI_CAP}. {note}" if note else EHCI_CAP
    return Place(where, TRANSLATOR_US, False, kind, think or 0, note)


def _kind(tree: BusTree, device: Device) -> ControllerKind:
    controller = tree.controller_of(device.id)
    return controller.kind if controller is not None else "other"


def translator_of(tree: BusTree, device: Device) -> str | None:
    """The translator a low- or full-speed device works through, or None if it needs none or that is not known.

    One per hub in single mode, one per socket in multi mode (USB 2.0 §11.14.1.3); a hub whose mode is not known
    counts as single, the stricter case.
    """
    if device.speed not in ("low", "full") or device.root:
        return None
    path = tree.path(device.id)
    for below, hub in pairwise(path):
        if hub.speed != "high" and not (hub.root and has_microframes(hub)):
            continue
        port = _port_of(below.id)
        if hub.root:
            return f"{hub.id}/tt" if _kind(tree, hub) == "ehci" else f"{hub.id}/tt{port}"
        multi = hub.hub is not None and hub.hub.translator == "multi"
        return f"{hub.id}/tt{port}" if multi else f"{hub.id}/tt"
    return None


def _port_of(device_id: str) -> str:
    return device_id.replace("-", ".").rsplit(".", 1)[-1]


def _spend(
    tree: BusTree,
    device: Device,
    settings: Settings,
    places: dict[str, Place],
    loads: dict[str, list[Load]],
    unread: set[str],
) -> None:
    """Put the loads of one device where they fall."""
    speed = bus_speed(device.speed)
    root = tree.root_of(device.id)
    if speed is None or root is None or device.root or root.id not in places:
        return
    kind = places[root.id].kind
    translator = translator_of(tree, device)
    own_place = translator or root.id
    split = translator is not None and not translator.startswith(root.id)
    if device.is_unread:
        unread.update({own_place, root.id} if split else {own_place})
    think = places[own_place].think_ns
    for timed in _timed(tree, device, settings, speed, kind):
        own = Load(device.id, timed.address, timed.slots, (timed.ns + think,), timed.booked_us, timed.ns)
        loads[own_place].append(own)
        if split:
            pieces = timed.splits
            booked = fsum(-(-piece // 1000) if kind == "ehci" else piece / 1000 for piece in pieces)
            loads[root.id].append(Load(device.id, timed.address, 8 * timed.slots, pieces, booked, sum(pieces)))


class Timed(NamedTuple):
    """What one endpoint takes wherever its device is plugged in below one kind of controller: a service each `slots`
    (frames, at high speed microframes), its nanoseconds, what the driver books, and its splits."""

    address: int
    slots: int
    ns: int
    booked_us: float
    splits: tuple[int, ...]


def _timed(
    tree: BusTree, device: Device, settings: Settings, speed: BusSpeed, kind: ControllerKind
) -> tuple[Timed, ...]:
    """The periodic endpoints of a device, reckoned once for each device that a tree has met."""
    key = (id(device), settings, kind)
    known = tree.remembered.get(key)
    if known is None:
        # The device is kept with its figures, so that its identity can't be given to another.
        known = tree.remembered[key] = (device, tuple(_reckoned(device, settings, speed, kind)))
    timed: tuple[Timed, ...] = known[1]
    return timed


def _reckoned(device: Device, settings: Settings, speed: BusSpeed, kind: ControllerKind) -> Iterable[Timed]:
    for endpoint in periodic_endpoints(device.interfaces, settings, speed, kind):
        high = speed == "high"
        slots = period_microframes(endpoint, kind) if high else period_frames(endpoint, speed, kind)
        splits = () if high else split_pieces(endpoint)
        yield Timed(endpoint.address, slots, service_ns(speed, endpoint), booked_us(kind, speed, endpoint), splits)


def periodic_endpoints(
    interfaces: Iterable[Interface], settings: Settings, speed: BusSpeed, kind: ControllerKind
) -> Iterable[Endpoint]:
    """The endpoints that reserve time: of the settings in use now, or of the greatest of each interface."""
    for interface in interfaces:
        if settings == "current" or len(interface.alternates) == 1:
            chosen = interface.current() if settings == "current" else interface.alternates[0]
        else:
            chosen = max(interface.alternates, key=lambda a: _mean(a, speed, kind), default=None)
        if chosen is not None:
            yield from (e for e in chosen.endpoints if e.is_periodic and e.max_packet)


def _mean(alternate: Alternate, speed: BusSpeed, kind: ControllerKind) -> float:
    """Mean nanoseconds per frame of an alternate setting."""
    total = 0.0
    for endpoint in alternate.endpoints:
        if endpoint.is_periodic and endpoint.max_packet:
            per_frame = (
                8 / period_microframes(endpoint, kind) if speed == "high" else 1 / period_frames(endpoint, speed, kind)
            )
            total += service_ns(speed, endpoint) * per_frame
    return total


def period_frames(endpoint: Endpoint, speed: BusSpeed, kind: ControllerKind) -> int:
    """Frames between two services of a low- or full-speed endpoint, as the host polls it."""
    return power_of_two(endpoint.interval_us // 1000, LONGEST_PERIOD[kind])


def period_microframes(endpoint: Endpoint, kind: ControllerKind) -> int:
    """Microframes between two services of a high-speed endpoint, as the host polls it.

    Linux's EHCI driver serves an interrupt endpoint of 2 or 4 microframes in every one (ehci-sched.c, measured).
    """
    slots = power_of_two(endpoint.interval_us // 125, 8 * min(LONGEST_PERIOD[kind], 32))
    return 1 if kind == "ehci" and endpoint.type == "interrupt" and slots < 8 else slots


def _entry(budget: str, place: Place, loads: list[Load], incomplete: bool) -> Entry:
    ordered = sorted(loads, key=lambda load: (natural_key(load.who), load.endpoint))
    plan = schedule(ordered)
    used = plan.worst_ns / 1000
    state = state_of(used, place.limit.value)
    base = {
        "budget": budget,
        "where": place.where,
        "limit": place.limit.value,
        "unit": place.unit,
        "limit_basis": "declared",
        "source": f"bus time by USB 2.0 §5.11.3; limit {place.limit.source}",
    }
    if incomplete and state != "over":
        note = f"At least {used:g} {place.unit}: a device here could not be read"
        return Entry.model_validate({**base, "used": None, "state": "unknown", "basis": "unknown", "note": note})
    mean = mean_exact = None
    if budget == TIME_BUDGETS["current"]:
        per_frame = 8 if place.microframes else 1
        mean = fsum(x.booked_us * per_frame / x.period for x in ordered)
        mean_exact = fsum(x.service_ns / 1000 * per_frame / x.period for x in ordered)
    return Entry.model_validate(
        {
            **base,
            "used": used,
            "state": state,
            "basis": "unknown" if incomplete else "declared",
            "parts": tuple(
                Part(who=load.who, endpoint=load.endpoint, used=ns / 1000, ns=load.service_ns)
                for load, ns in zip(ordered, plan.in_worst_ns, strict=True)
            ),
            "note": place.note,
            "mean_frame_us": mean,
            "mean_frame_exact_us": mean_exact,
        }
    )
