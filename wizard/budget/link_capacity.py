"""What a SuperSpeed link carries, and what one endpoint reserves of it."""

from wizard.bus.model import Endpoint

PACKET_SHARE = 1024 / 1056
"""Payload in a full packet with its header and framing: 32 symbols of overhead (USB 3.2 §7.2.1; from memory)."""

CODING = {5000.0: 8 / 10, 10000.0: 128 / 132, 20000.0: 128 / 132}
"""Line coding by rate in Mbit/s: 8b/10b for Gen 1, 128b/132b for Gen 2 (USB 3.2 §6.3; derived)."""


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
