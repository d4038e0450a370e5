"""How macOS names places: location ids of 32 bits. Knows names only.

The top byte is the bus, then one hexadecimal digit for each socket on the way, 0 ends it: an Apple engineer on the
tcpdump-workers list, 2016-12-11. A hub with more than 15 sockets can't be told apart by it.
"""

import re
from dataclasses import dataclass

from wizard.observe.exports.records import hex_of

_SLASH = re.compile(r"^\s*0x([0-9a-fA-F]{1,8})(?:\s*/\s*(\d{1,3}))?\s*$")


@dataclass(frozen=True)
class Place:
    """A location id; `ports` is the way from the root hub."""

    number: int

    @property
    def bus(self) -> int:
        return self.number >> 24

    @property
    def ports(self) -> tuple[int, ...]:
        digits = f"{self.number & 0xFFFFFF:06x}".rstrip("0")
        return tuple(int(digit, 16) for digit in digits)

    def socket(self, number: int) -> "Place":
        """The socket of this hub with that number; the hub itself where no digit can name it."""
        depth = len(self.ports)
        fits = 0 < number < 16 and depth < 6
        return Place(self.number | number << (20 - 4 * depth)) if fits else self

    @property
    def text(self) -> str:
        """As signs name it: `0x14100000`."""
        return f"0x{self.number:08x}"

    @property
    def id(self) -> str:
        """As a snapshot names it; libusb gives the same bus and sockets on macOS."""
        return f"{self.bus}-" + ".".join(map(str, self.ports)) if self.ports else f"usb{self.bus}"

    @property
    def parent(self) -> str | None:
        """The hub it hangs on; None for a root hub."""
        if not self.ports:
            return None
        return Place(self.number & ~(0xFFFFFF >> 4 * (len(self.ports) - 1))).id


def place_in(told: object) -> Place | None:
    """`0x03543000 / 8`, `0xfd500000`, hexadecimal digits as ioreg prints them, or a number; None for anything else."""
    if isinstance(told, int) and not isinstance(told, bool):
        return Place(told) if 0 <= told < 1 << 32 else None
    if not isinstance(told, str):
        return None
    match = _SLASH.match(told)
    number = hex_of(match[1] if match else told)
    return Place(number) if number is not None and number < 1 << 32 else None
