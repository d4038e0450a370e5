"""What a translated transaction costs on the high-speed bus above its translator.

USB 2.0 §11.18: a start-split, then complete-splits in later microframes: three for an interrupt endpoint, of which
Linux's EHCI driver keeps two. How long each may be follows that driver (drivers/usb/host/ehci-sched.c, ehci-q.c; from
memory).
"""

from wizard.budget.bus_time import transaction_ns
from wizard.budget.pipeline import COMPLETES_AFTER_START
from wizard.bus.model import ControllerKind, Endpoint

BYTES_PER_MICROFRAME = 188
"""Full-speed bytes that fit a microframe: USB 2.0 §11.18.1 (second-hand)."""


COMPLETES_ON_EHCI = 2
"""Complete-splits of an interrupt endpoint that Linux's EHCI driver keeps (ehci-sched.c, from memory; its books agree,
measured)."""


def split_pieces(endpoint: Endpoint, kind: ControllerKind = "other") -> tuple[int, ...]:
    """Nanoseconds on the high-speed bus of every split of one service of a low- or full-speed endpoint."""
    if endpoint.type == "isochronous":
        return _isochronous(endpoint)
    data = transaction_ns("high", endpoint.is_in, False, endpoint.max_packet)
    token = transaction_ns("high", endpoint.is_in, False, 0)
    start = transaction_ns("high", endpoint.is_in, False, 1)
    completes = COMPLETES_ON_EHCI if kind == "ehci" else len(COMPLETES_AFTER_START)
    if endpoint.is_in:
        return (start, *(data + token,) * completes)
    return (data + start, *(token,) * completes)


def _isochronous(endpoint: Endpoint) -> tuple[int, ...]:
    sizes = [
        min(BYTES_PER_MICROFRAME, endpoint.max_packet - at)
        for at in range(0, max(1, endpoint.max_packet), BYTES_PER_MICROFRAME)
    ]
    if not endpoint.is_in:
        return tuple(transaction_ns("high", False, True, size) for size in sizes)
    # Two complete-splits more than there are pieces of data: §11.18.4 rule 3, and one to spare.
    completes = (*sizes, sizes[-1], sizes[-1])
    return (transaction_ns("high", True, True, 1), *(transaction_ns("high", True, True, size) for size in completes))
