"""A sign: what a log or a watch reports about one place, with repeats folded into one value; and how a log was read."""

from collections.abc import Iterable

from wizard.bus.document import Document


class Sign(Document):
    """One kind of trouble at one place.

    `where` is a device path, a controller, a disk, or `-`. `count` includes what the log itself says
    was repeated; `first` and `last` are stamps as the log prints them; `lines` are 1-based line
    numbers, at most the first 1000; `text` is one sample and is untrusted.
    """

    kind: str
    where: str = "-"
    count: int = 1
    first: str | None = None
    last: str | None = None
    lines: tuple[int, ...] = ()
    text: str = ""


class LogRead(Document):
    """How a log was read: `lines` it has (None where it is no file of lines), and whether it was `understood`:
    if not, that it holds no sign says nothing."""

    lines: int | None = None
    understood: bool = True


def told_by_both(some: Iterable[Sign], more: Iterable[Sign]) -> tuple[Sign, ...]:
    """Signs of two sources, one for each kind and place: what both tell of is counted once, by the larger count."""
    signs = {(sign.kind, sign.where): sign for sign in some}
    for sign in more:
        known = signs.get((sign.kind, sign.where))
        if known is None or known.count < sign.count:
            signs[sign.kind, sign.where] = sign
    return tuple(signs.values())


KINDS: frozenset[str] = frozenset(
    [
        "descriptor_read_failed",
        "address_failed",
        "enumeration_failed",
        "port_power_cycled",
        "over_current",
        "no_bus_power",
        "under_voltage",
        "no_bandwidth",
        "stream_no_space",
        "no_controller_resources",
        "no_slots",
        "controller_died",
        "controller_error",
        "power_lost",
        "reset",
        "port_reset_failed",
        "port_disabled",
        "port_error",
        "cable_suspect",
        "transfer_error",
        "input_overrun",
        "config_failed",
        "interface_failed",
        "driver_failed",
        "hub_too_deep",
        "hub_config_failed",
        "storage_abort",
        "storage_io_error",
        "storage_offline",
        "filesystem_error",
        "stream_error",
        "not_authorised",
        "access_refused",
        "resume_failed",
        "link_power_failed",
        "firmware_changed",
        "slower_than_could",
        "descriptor_odd",
        "connect",
        "disconnect",
    ]
)
"""The kinds this version knows. A document may hold others; they are shown, and no rule speaks of them."""
