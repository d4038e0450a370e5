"""SuperSpeed links: what hangs below them is expected to move, against what the link carries.

A link carries its signalling rate less line coding and packet overhead. Periodic endpoints need what they
reserve; other streams need what is known of them; drives take what is left and are not counted as need.
"""

from math import fsum

from wizard.budget.entry import Entry, Part, Share, state_of
from wizard.budget.scope import Scope
from wizard.bus.model import Device, Endpoint
from wizard.bus.tree import BusTree

PACKET_SHARE = 1024 / 1056
"""Payload in a full packet with its header and framing: 32 symbols of overhead (USB 3.2 §7.2.1; from memory)."""

CODING = {5000.0: 8 / 10, 10000.0: 128 / 132, 20000.0: 128 / 132}
"""Line coding by rate in Mbit/s: 8b/10b for Gen 1, 128b/132b for Gen 2 (USB 3.2 §6.3; derived)."""

PERIODIC_SHARE = (0.8, 0.9)
"""Share of a link that may be reserved. Sources disagree: 80 % in Linux core/devices.c, 90 % in its xhci.h and, from
memory, USB 3.2 §8.12.4."""


def link_entries(tree: BusTree, scope: Scope) -> tuple[Entry, ...]:
    """`link_rate` of the link of every SuperSpeed device in scope, in natural order."""
    return tuple(_link(tree, d) for d in scope.devices(tree) if d.is_super)


def capacity_mb_s(mbps: float | None) -> float | None:
    """Payload a link carries one way, in MB/s (decimal); None for a rate this version does not know."""
    coding = CODING.get(mbps or 0.0)
    return None if coding is None or mbps is None else mbps / 8 * coding * PACKET_SHARE


def reserved_mb_s(endpoint: Endpoint) -> float:
    """What one periodic endpoint reserves, in MB/s (decimal)."""
    if not endpoint.is_periodic or endpoint.interval_us <= 0:
        return 0.0
    most = endpoint.max_packet * endpoint.burst * endpoint.transactions
    size = most if endpoint.bytes_per_interval is None else min(endpoint.bytes_per_interval, most)
    return size / endpoint.interval_us


def _reserved(device: Device, towards_host: bool) -> float:
    return fsum(
        reserved_mb_s(e)
        for i in device.interfaces
        if (setting := i.current()) is not None
        for e in setting.endpoints
        if e.is_in == towards_host
    )


def _link(tree: BusTree, device: Device) -> Entry:
    """Both directions have wires of their own: the busier one counts."""
    below = [d for d in (device, *tree.below(device.id)) if d.is_super]
    ways = [[Part(who=d.id, used=_reserved(d, way)) for d in below] for way in (True, False)]
    parts = max(ways, key=lambda way: fsum(p.used for p in way))
    used = fsum(p.used for p in parts)
    limit = capacity_mb_s(device.mbps)
    return Entry(
        budget="link_rate",
        where=device.id,
        used=used,
        limit=limit,
        unit="MB/s",
        state=state_of(used, limit),
        basis="declared",
        limit_basis="unknown" if limit is None else "declared",
        source="USB 3.2 §6.3 line coding (derived) and §7.2.1 packet overhead (from memory)",
        parts=tuple(p for p in parts if p.used),
        note=_note(below),
        periodic=_periodic(used, limit),
    )


def _note(below: list[Device]) -> str | None:
    bulk = sum(
        any(e.type == "bulk" for i in d.interfaces if (s := i.current()) is not None for e in s.endpoints)
        for d in below
    )
    if not bulk:
        return None
    return f"{bulk} of the devices here move data as fast as the link lets them; that is not counted as a need"


def _periodic(used: float, limit: float | None) -> Share:
    bracket = None if limit is None else (limit * PERIODIC_SHARE[0], limit * PERIODIC_SHARE[1])
    return Share(
        used=used,
        bracket=bracket,
        state=state_of(used, None, bracket),
        source="80 % (Linux core/devices.c) or 90 % (Linux xhci.h; USB 3.2 §8.12.4 from memory): sources disagree",
    )
