"""Input reports on Windows and macOS, through the hidapi library: which devices may be read, and reading one.

NEVER RUN ON A REAL MACHINE: written from hidapi's documentation, tested with stand-ins.

Both systems keep mice and keyboards to themselves (Windows opens them for nobody else; macOS wants a permission that
lets a program see all that is typed, which is not asked for here); game controllers, pedals, dials and other controls
may be read. Raw reports carry no time: it is taken when they are fetched. Nothing is written to a device.
"""

import importlib
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Protocol

from wizard.bus.errors import BadInputError
from wizard.bus.model import Device, Snapshot
from wizard.bus.pace import Report
from wizard.observe.pace import LONGEST_S, TICK_S
from wizard.observe.words import clean

NO_HIDAPI = "Input reports can't be read here: the library for it (hidapi) does not work on this system."
KEPT = (
    "Mice and keyboards are kept by the system: no other program may read their reports. "
    "Portmend's own window can take their pace over a field in it, which is coarser; or take it on a Linux computer."
)
_REPORT = 4096
_GENERIC_DESKTOP = 0x01  # HID Usage Tables §4: pointer 1, mouse 2, keyboard 6, keypad 7
_KEPT_USAGES = frozenset({1, 2, 6, 7})
_MOST = 2000


class Handle(Protocol):
    """One open device: `read` gives the numbers of a report, or nothing when the time is up; OSError if it left."""

    def read(self, max_length: int, timeout_ms: int = 0) -> Sequence[int]: ...

    def close(self) -> None: ...


class Port(Protocol):
    """How hidapi is reached, or a stand-in for it."""

    def listed(self) -> Sequence[Mapping[str, Any]]: ...

    def open(self, path: bytes) -> Handle: ...


@dataclass(frozen=True)
class HidPlace:
    """A way to read the reports of a control: hidapi's path, the device of the snapshot if it is told for certain,
    its interface, its name. `kept` is true where the system lets nobody read it."""

    path: bytes
    device: str | None = None
    interface: int | None = None
    name: str | None = None
    kept: bool = False

    @property
    def text(self) -> str:
        """The path as text, to show and to type."""
        return self.path.decode("utf-8", errors="replace")


class _HidApi:
    """hidapi itself."""

    def __init__(self, module: Any) -> None:
        self._module = module

    def listed(self) -> Sequence[Mapping[str, Any]]:
        try:
            return list(self._module.enumerate())[:_MOST]
        except (OSError, ValueError):
            return ()

    def open(self, path: bytes) -> Handle:
        device = self._module.device()
        device.open_path(path)
        opened: Handle = device
        return opened


def open_hidapi() -> Port | None:
    """hidapi as its wheel carries it; None if it can't be loaded here."""
    try:
        # Only here, and by name: Linux has no need of it, and where there is no wheel the rest still works.
        return _HidApi(importlib.import_module("hid"))
    except (ImportError, OSError):
        return None


def find_controls(snapshot: Snapshot, port: Port) -> tuple[HidPlace, ...]:
    """All that report input, in the order of their paths."""
    return tuple(sorted(_places(snapshot, port.listed()), key=lambda place: place.path))


def _places(snapshot: Snapshot, entries: Sequence[Mapping[str, Any]]) -> Iterator[HidPlace]:
    for entry in entries:
        path = entry.get("path")
        if not isinstance(path, bytes) or not path:
            continue
        interface, name = entry.get("interface_number"), entry.get("product_string")
        device = _device(snapshot, entry, path)
        yield HidPlace(
            path=path,
            device=device.id if device is not None else None,
            interface=interface if isinstance(interface, int) and interface >= 0 else None,
            name=(clean(name) or None) if isinstance(name, str) else (device.name if device is not None else None),
            kept=entry.get("usage_page") == _GENERIC_DESKTOP and entry.get("usage") in _KEPT_USAGES,
        )


def _device(snapshot: Snapshot, entry: Mapping[str, Any], path: bytes) -> Device | None:
    """By the entry's own name, which Windows' path holds; else by the ids where only one device has them."""
    named = path.decode("utf-8", errors="replace").replace("#", "\\").casefold()
    vid, pid = entry.get("vendor_id"), entry.get("product_id")
    if not isinstance(vid, int) or not isinstance(pid, int):
        return None
    same = [d for d in snapshot.devices if not d.root and (d.vid, d.pid) == (f"{vid:04x}", f"{pid:04x}")]
    by_name = [d for d in same if d.listing is not None and any(part in named for part in d.listing.names())]
    found = by_name or same
    return found[0] if len(found) == 1 else None


def follow_control(
    handle: Handle,
    seconds: float,
    report: Callable[[Report], None],
    tick: Callable[[float], None] = lambda _gone: None,
    stop: Callable[[], bool] = lambda: False,
    now: Callable[[], float] = time.monotonic,
) -> tuple[float, str | None]:
    """Read a control for so many seconds, or until told to stop, or until it leaves; then close it.

    `tick` gets the seconds gone by now and then. Returns how long it took, and why it ended before its time, if it
    did. Raises BadInputError for a time nobody can mean.
    """
    try:
        if not 0 < seconds <= LONGEST_S:
            raise BadInputError("the time to measure", f"{seconds:g} s is not possible", "Give 1 to 86400 seconds.")
        started = told = now()
        before: bytes | None = None
        while True:
            at = now()
            if at - told >= TICK_S:
                tick(at - started)
                told = at
            if at - started >= seconds or stop():
                tick(at - started)
                return at - started, None
            try:
                numbers = handle.read(_REPORT, timeout_ms=max(1, int(TICK_S * 1000)))
            except (OSError, ValueError):
                tick(now() - started)
                return now() - started, "left"
            if numbers:
                data = bytes(number & 0xFF for number in numbers)
                report(Report(at_us=int(now() * 1e6), same=data == before))
                before = data
    finally:
        handle.close()
