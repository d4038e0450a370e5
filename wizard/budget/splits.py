"""What a translated transaction costs on the high-speed bus above its translator.

USB 2.0 §11.18: a start-split, then complete-splits in later microframes. Which microframes a host keeps for
them follows Linux's EHCI driver (drivers/usb/host/ehci-sched.c, ehci-q.c; from memory).
"""

from wizard.budget.bus_time import BusSpeed, service_ns, transaction_ns
from wizard.bus.model import Endpoint

BYTES_PER_MICROFRAME = 188
"""Full-speed bytes that fit a microframe: USB 2.0 §11.18.1 (second-hand)."""


def split_pieces(endpoint: Endpoint, speed: BusSpeed) -> tuple[tuple[int, int], ...]:
    """(offset in microframes, nanoseconds) of every split of one service of a low- or full-speed endpoint."""
    if endpoint.type == "isochronous":
        return _isochronous(endpoint)
    # The first complete-split follows the start by one microframe plus the time on the slow bus.
    gap = 1 + service_ns(speed, endpoint) // 125_000
    data = transaction_ns("high", endpoint.is_in, False, endpoint.max_packet)
    token = transaction_ns("high", endpoint.is_in, False, 0)
    start = transaction_ns("high", endpoint.is_in, False, 1)
    if endpoint.is_in:
        return ((0, start), (gap, data + token), (gap + 1, data + token))
    return ((0, data + start), (gap, token), (gap + 1, token))


def _isochronous(endpoint: Endpoint) -> tuple[tuple[int, int], ...]:
    chunks = [
        min(BYTES_PER_MICROFRAME, endpoint.max_packet - at)
        for at in range(0, max(1, endpoint.max_packet), BYTES_PER_MICROFRAME)
    ]
    if not endpoint.is_in:
        return tuple((i, transaction_ns("high", False, True, size)) for i, size in enumerate(chunks))
    # One complete-split more than there are pieces of data, and one to spare: §11.18.4 rule 3.
    sizes = [*chunks, chunks[-1], chunks[-1]]
    completes = tuple((2 + i, transaction_ns("high", True, True, size)) for i, size in enumerate(sizes))
    return ((0, transaction_ns("high", True, True, 1)), *completes)
