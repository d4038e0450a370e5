"""What Linux tells every program at once when a device comes or goes: kernel events over netlink, no rights needed.

Knows the shape of these messages (`lib/kobject_uevent.c`, `drivers/usb/core/port.c` of Linux) and how to
receive them. Decides nothing about them. Messages of other programs are not believed: only those the
kernel itself sent.
"""

import errno
import re
import socket
from collections.abc import Iterator
from dataclasses import dataclass

from wizard.observe.sysfs.index import is_device, socket_id

_KERNEL_EVENTS = 15  # NETLINK_KOBJECT_UEVENT, include/uapi/linux/netlink.h
_FROM_KERNEL = 1  # the multicast group the kernel speaks to; group 2 is udev's
_LARGEST = 16_384  # bytes; the kernel's own buffer holds 2048 (UEVENT_BUFFER_SIZE, include/linux/kobject.h)
_ROOM = 4 << 20  # bytes of queue to ask for; without rights the system gives less (net.core.rmem_max)
_PORT = re.compile(r"/([^/]{1,80})-port([1-9][0-9]{0,2})$")


@dataclass(frozen=True)
class BusNews:
    """One thing the kernel told: `connect`, `disconnect` or `over_current` at a place.

    `address` is the number the device has on its bus while it is there; `count` the port's own count.
    """

    kind: str
    where: str
    address: int | None = None
    count: int | None = None


class Missed(Exception):  # noqa: N818 - not a failure: the queue ran over, and one has to look for oneself
    """Events were lost because they came faster than they were read."""


def read_news(message: bytes) -> BusNews | None:
    """What one kernel event says about USB; None if it says nothing, or is malformed."""
    head, _, body = message.partition(b"\0")
    if b"@" not in head:
        return None
    pairs = (line.partition("=") for line in body.decode("utf-8", "replace").split("\0"))
    told = {key: value for key, equals, value in pairs if equals}
    if told.get("SUBSYSTEM") != "usb":
        return None
    if "OVER_CURRENT_PORT" in told:
        return _over_current(told["OVER_CURRENT_PORT"], told.get("OVER_CURRENT_COUNT", ""))
    name = told.get("DEVPATH", "").rpartition("/")[2]
    kind = {"add": "connect", "remove": "disconnect"}.get(told.get("ACTION", ""))
    if kind is None or told.get("DEVTYPE") != "usb_device" or not is_device(name):
        return None
    return BusNews(kind, name, _number(told.get("DEVNUM", "")))


def _over_current(port: str, count: str) -> BusNews | None:
    """`…/1-4:1.0/1-4-port2` is socket 1-4.2; `…/usb1-port4` is 1-4."""
    match = _PORT.search(port)
    if match is None or not is_device(match[1]):
        return None
    return BusNews("over_current", socket_id(match[1], int(match[2])), count=_number(count))


def _number(digits: str) -> int | None:
    return int(digits) if digits.isascii() and digits.isdigit() and len(digits) < 10 else None


class KernelEvents:
    """A socket on which the kernel's events arrive. Raises OSError if the system has none to give."""

    def __init__(self) -> None:
        family = getattr(socket, "AF_NETLINK", None)
        if family is None:
            raise OSError(errno.EAFNOSUPPORT, "this system has no netlink")
        self._socket = socket.socket(family, socket.SOCK_DGRAM, _KERNEL_EVENTS)
        try:
            self._socket.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, _ROOM)
            self._socket.setblocking(False)
            self._socket.bind((0, _FROM_KERNEL))
        except OSError:
            self._socket.close()
            raise

    def fileno(self) -> int:
        """For waiting on it."""
        return self._socket.fileno()

    def close(self) -> None:
        """Let go of the socket."""
        self._socket.close()

    def waiting(self, most: int = 10_000) -> Iterator[BusNews]:
        """What has arrived about USB, in order; ends when nothing more is there. Raises Missed if some was lost."""
        for _ in range(most):
            try:
                message, sender = self._socket.recvfrom(_LARGEST)
            except BlockingIOError:
                return
            except OSError as error:
                if error.errno == errno.ENOBUFS:
                    raise Missed from None
                raise
            if sender[0] == 0:  # the kernel's own address: man 7 netlink
                news = read_news(message)
                if news is not None:
                    yield news
