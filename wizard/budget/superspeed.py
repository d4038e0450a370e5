"""SuperSpeed links: what hangs below them is expected to move, against what the link carries.

A link carries its signalling rate less line coding and packet overhead. Periodic endpoints need what they
reserve; other streams need what is known of them; drives take what is left and are not counted as need.
"""

from math import fsum

from wizard.budget.entry import Entry, Part, Share, state_of
from wizard.budget.link_capacity import capacity_mb_s, reserved_mb_s
from wizard.budget.scope import Scope
from wizard.budget.setup import Setup
from wizard.budget.streams import expected_mb_s
from wizard.bus.model import Device
from wizard.bus.tree import BusTree

PERIODIC_SHARE = (0.8, 0.9)
"""Share of a link that may be reserved. Sources disagree: 80 % in Linux core/devices.c, 90 % in its xhci.h and, from
memory, USB 3.2 §8.12.4."""


LINK_SOURCE = "USB 3.2 §6.3 line coding (derived) and §7.2.1 packet overhead (from memory)"


def link_entries(tree: BusTree, setup: Setup, scope: Scope) -> tuple[Entry, ...]:
    """`link_rate` of the link of every SuperSpeed device in scope, in natural order."""
    return tuple(_link(tree, d, setup) for d in scope.devices(tree) if d.is_super)


def _reserved(device: Device, towards_host: bool) -> float:
    return fsum(
        reserved_mb_s(e)
        for i in device.interfaces
        if (setting := i.current()) is not None
        for e in setting.endpoints
        if e.is_in == towards_host
    )


def _needed(device: Device, towards_host: bool, setup: Setup) -> float:
    """What the user told, else what is reserved now, else what its streams could ask for where they reserve nothing (a
    camera on a bulk pipe), else what its kind typically needs."""
    told = setup.need_mb_s.get(device.id)
    if told is not None:
        return told if _mainly_in(device) == towards_host else 0.0
    found = _reserved(device, towards_host) or expected_mb_s(device, device.formats, "greatest", towards_host)
    if not found and device.typical is not None and _mainly_in(device) == towards_host:
        return device.typical.need_mb_s or 0.0
    return found or 0.0


def _mainly_in(device: Device) -> bool:
    """Whether most of what a device moves goes to the host: by its widest endpoint, to the host where it has two."""
    endpoints = [e for i in device.interfaces if (s := i.current()) is not None for e in s.endpoints]
    return max(((e.max_packet * e.burst, e.is_in) for e in endpoints), default=(0, True))[1]


def _link(tree: BusTree, device: Device, setup: Setup) -> Entry:
    """Both directions have wires of their own: the busier one counts."""
    below = [d for d in (device, *tree.below(device.id)) if d.is_super]
    ways = [[(d, _needed(d, way, setup), _reserved(d, way)) for d in below] for way in (True, False)]
    busier = max(ways, key=lambda way: fsum(need for _, need, _ in way))
    used = fsum(need for _, need, _ in busier)
    limit = capacity_mb_s(device.mbps)
    asked = [d for d, need, reserved in busier if need and not reserved and d.id not in setup.need_mb_s]
    unread = [d.id for d in below if d.is_unread]
    if unread and state_of(used, limit) != "over":
        return Entry(
            budget="link_rate",
            where=device.id,
            used=None,
            limit=limit,
            unit="MB/s",
            state="unknown",
            basis="unknown",
            limit_basis="unknown" if limit is None else "declared",
            source=LINK_SOURCE,
            note=f"{', '.join(unread)} could not be read",
        )
    return Entry(
        budget="link_rate",
        where=device.id,
        used=used,
        limit=limit,
        unit="MB/s",
        state=state_of(used, limit),
        basis="assumed" if asked else "declared",
        limit_basis="unknown" if limit is None else "declared",
        source=LINK_SOURCE,
        parts=tuple(Part(who=d.id, used=need) for d, need, _ in busier if need),
        note=_note(below, asked, {d.id for d, need, _ in busier if need}),
        periodic=_periodic(fsum(reserved for _, _, reserved in busier), limit),
    )


def _note(below: list[Device], asked: list[Device], counted: set[str]) -> str | None:
    greedy = [
        d
        for d in below
        if d.id not in counted
        and any(e.type == "bulk" for i in d.interfaces if (s := i.current()) is not None for e in s.endpoints)
    ]
    offered = [d for d in asked if d.typical is None]
    typical = len(asked) - len(offered)
    told = []
    if offered:
        told.append(
            f"For {len(offered)} of the devices here the greatest picture or sound format they offer is counted"
        )
    if typical:
        told.append(f"For {typical} of the devices here what their kind typically needs is counted")
    if greedy:
        told.append(f"{len(greedy)} move data as fast as the link lets them, which is not counted as a need")
    return "; ".join(told) or None


def _periodic(used: float, limit: float | None) -> Share:
    bracket = None if limit is None else (limit * PERIODIC_SHARE[0], limit * PERIODIC_SHARE[1])
    return Share(
        used=used,
        bracket=bracket,
        state=state_of(used, None, bracket),
        source="80 % (Linux core/devices.c) or 90 % (Linux xhci.h; USB 3.2 §8.12.4 from memory): sources disagree",
    )
