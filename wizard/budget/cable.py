"""Cables whose length was told: the run against what the speed allows, and the voltage left at the device."""

from wizard.budget.entry import Entry, Part, state_of
from wizard.budget.limits import BEHIND_BUS_POWERED_MA, BEHIND_BUS_POWERED_SUPER_MA, Limit
from wizard.budget.power import allowance, parts_fed
from wizard.budget.scope import Scope
from wizard.budget.setup import Cable, Setup
from wizard.bus.model import Device, Speed
from wizard.bus.tree import BusTree

LONGEST_M: dict[Speed, Limit] = {
    "low": Limit(3.0, "USB 2.0 §7.1.16: 18 ns of delay at low speed, about 3 m (second-hand)"),
    "full": Limit(5.0, "USB 2.0 §7.1.16: 26 ns of delay at 5.2 ns/m, 5 m (second-hand)"),
    "high": Limit(5.0, "USB 2.0 §7.1.16: 26 ns of delay at 5.2 ns/m, 5 m (second-hand)"),
    "super": Limit(3.0, "practical length of a copper SuperSpeed cable, 26 AWG (second-hand); Type-C to Type-C 2 m"),
    "super_plus": Limit(1.0, "USB Type-C Table 3-1: 1 m for a passive Gen 2 cable (second-hand)"),
}

OHM_PER_M: dict[int, float] = {20: 0.0358, 22: 0.0574, 24: 0.0909, 26: 0.146, 28: 0.232, 30: 0.369}
"""Ohms of a metre of one stranded conductor by AWG: USB cable tables (second-hand). They end at AWG 28; AWG 30 is solid
annealed copper at 20 °C after ASTM B258 (0.33855, derived) times 1.09, by which 28 and 26 are above it (derived)."""

CONTACT_OHM = 0.030
"""One new contact (from memory). A cable has a plug at each end, each with a VBUS and a GND contact."""

DROP_V = Limit(0.25, "USB 2.0 §7.2.2: 125 mV on VBUS and 125 mV on GND of a detachable cable (confirmed)")
DROP_SUPER_V = Limit(0.45, "USB 3.2 §11.4.2: 4.45 V at the hub's socket, 4.0 V at the device (second-hand)")

SOCKET_V = Limit(4.75, "USB 2.0 §7.2.2: a high-power socket (confirmed)")
SOCKET_BUS_POWERED_V = Limit(4.4, "USB 2.0 §7.2.2: a socket of a bus-powered hub (confirmed)")
SOCKET_SUPER_V = Limit(4.45, "USB 3.2 §11.4.2: a SuperSpeed hub's socket (second-hand)")

ENOUGH_V = Limit(4.4, "USB 2.0 §7.2.2: voltage at which a device can be set up (confirmed)")
ENOUGH_BUS_POWERED_V = Limit(4.35, "USB 2.0 §7.2.2: what is left behind a bus-powered hub (derived)")
ENOUGH_SUPER_V = Limit(4.0, "USB 3.2 §11.4.2: at the device (second-hand)")
"""What a device can count on at its end of a sound cable; with less it may not even be recognised."""


def cable_entries(tree: BusTree, setup: Setup, scope: Scope) -> tuple[Entry, ...]:
    """`cable` of every device whose run was told, then `voltage` of those whose wire gauge was told as well."""
    known = [(d, setup.cables[d.id]) for d in scope.devices(tree) if d.id in setup.cables]
    lengths = [_length(device, cable) for device, cable in known if cable.m is not None]
    drops = [_voltage(tree, d, c, setup) for d, c in known if c.m is not None and c.awg is not None]
    return (*lengths, *drops)


def drop_v(metres: float, awg: int, milliamps: float) -> float | None:
    """Volts lost there and back on a cable with a plug at each end; None for a gauge that is in no table."""
    per_m = OHM_PER_M.get(awg)
    return None if per_m is None else (2 * per_m * metres + 4 * CONTACT_OHM) * milliamps / 1000


def _length(device: Device, cable: Cable) -> Entry:
    limit = LONGEST_M.get(device.speed) if device.speed is not None else None
    used = float(cable.m or 0.0)
    return Entry(
        budget="cable",
        where=device.id,
        used=used,
        limit=None if limit is None else limit.value,
        unit="m",
        state=state_of(used, None if limit is None else limit.value),
        basis="declared",
        limit_basis="unknown" if limit is None else "declared",
        source=limit.source if limit is not None else "the speed is not known, so neither is what it allows",
        parts=(Part(who=device.id, used=used),),
    )


def _voltage(tree: BusTree, device: Device, cable: Cable, setup: Setup) -> Entry:
    fed = parts_fed(tree, device, setup)
    current = None if fed is None else sum(p.used for p in fed)
    used = None if current is None else drop_v(cable.m or 0.0, cable.awg or 0, current)
    limit = DROP_SUPER_V if device.is_super else DROP_V
    starts = _socket_volts(tree, device)
    return Entry(
        budget="voltage",
        where=device.id,
        used=used,
        limit=limit.value,
        unit="V",
        state=state_of(used, limit.value),
        basis="unknown" if used is None else "assumed",
        limit_basis="declared",
        source=f"{limit.source}; wire by USB cable tables (second-hand), contacts from memory",
        parts=() if used is None else (Part(who=device.id, used=used),),
        note=f"From the least the socket may give: {starts.value:g} V. {starts.source}",
        at_device=None if used is None else starts.value - used,
        finding=None if used is None else _too_low(starts, starts.value - used),
    )


_ENOUGH = {SOCKET_V: ENOUGH_V, SOCKET_BUS_POWERED_V: ENOUGH_BUS_POWERED_V, SOCKET_SUPER_V: ENOUGH_SUPER_V}


def _too_low(starts: Limit, left: float) -> str | None:
    """A sentence where less may be left at the device than it can count on; rounding is forgiven."""
    enough = _ENOUGH[starts]
    if left >= enough.value - 1e-9:
        return None
    return (
        f"Only {left:.2f} V may be left at the device, and it can count on working from {enough.value:g} V on: a "
        "thicker or shorter cable, or a supply of its own, helps"
    )


def _socket_volts(tree: BusTree, device: Device) -> Limit:
    if allowance(tree, device) in (BEHIND_BUS_POWERED_MA, BEHIND_BUS_POWERED_SUPER_MA):
        return SOCKET_BUS_POWERED_V
    return SOCKET_SUPER_V if device.is_super else SOCKET_V
