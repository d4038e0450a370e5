"""What the observers read of this machine, kept as it was read, so that others can look at the same.

Nothing is read that a look, a drive's chain or a pace would not read, so that nothing else can leak. Knows trees;
redacts nothing itself.
"""

import posixpath
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import partial

from wizard.bus.model import Snapshot
from wizard.observe.drives import STORAGE_CLASS, device_of_block, read_drive
from wizard.observe.linux import look_at
from wizard.observe.notes import NO_BUS
from wizard.observe.pace_places import find_places, place_at
from wizard.observe.patience import do_all
from wizard.observe.seen import Watcher
from wizard.observe.sysfs.tree import ATTRIBUTE_LIMIT, Kind, Reading, Tree

LISTING = "sys/kernel/debug/usb/devices"
"""The kernel's own listing of the bus: what a look is checked against. For the administrator only."""

_LONGEST_LISTING = 4 * 1024 * 1024


@dataclass
class Recorded:
    """Files, links and folders by their place in the tree; `snapshot` is what the look saw, `notes` what it said."""

    files: dict[str, bytes] = field(default_factory=dict)
    links: dict[str, str] = field(default_factory=dict)
    folders: set[str] = field(default_factory=set)
    snapshot: Snapshot = field(default_factory=Snapshot)
    notes: tuple[str, ...] = ()


def record(tree: Tree, watcher: Watcher) -> Recorded:
    """Look at everything there is and keep what was read. Raises CancelledError if told to stop."""
    into = Recorded()
    recorder = _Recorder(tree, into)
    seen = look_at(recorder, watcher, NO_BUS)
    into.snapshot, into.notes = seen.snapshot, seen.notes
    known = {device.id for device in seen.snapshot.devices}
    # First without recording: what does not hang on USB is nobody's business.
    for place in find_places(tree):
        if place.device in known:
            place_at(recorder, place.path)
    for device in seen.snapshot.devices:
        if any(i.class_code == STORAGE_CLASS for i in device.interfaces):
            for disk in read_drive(recorder, device.id).disks:
                for name in (disk.name, *(volume.name for volume in disk.volumes)):
                    device_of_block(recorder, name)
    if not _is_blocked(seen.snapshot):
        # Reading this waits for every hub, and nothing can call it off.
        folder, _, name = LISTING.rpartition("/")
        job = partial(recorder.read_into, {}, folder, (name,), _LONGEST_LISTING)
        do_all([job], watcher, "Reading the kernel's own listing")
    # A copy: a reader that was left behind may still come back and write into the other.
    return Recorded(dict(into.files), dict(into.links), set(into.folders), into.snapshot, into.notes)


def _is_blocked(snapshot: Snapshot) -> bool:
    troubles = [*snapshot.unreadable, *(t for device in snapshot.devices for t in device.unreadable)]
    return any(trouble.reason == "blocked" for trouble in troubles)


class _Recorder:
    """A tree that keeps what is read through it."""

    def __init__(self, inner: Tree, into: Recorded) -> None:
        self._inner = inner
        self._into = into

    def resolve(self, path: str) -> str | None:
        self._trace(path)
        return self._inner.resolve(path)

    def names(self, folder: str) -> dict[str, Kind]:
        inside = self._trace(folder)
        found = self._inner.names(folder)
        for name, kind in found.items() if inside is not None and _is_of_usb(inside) else ():
            # That something is there may be all that counts of it.
            if kind == "folder":
                self._into.folders.add(f"{inside}/{name}")
            elif kind == "link":
                self._trace(f"{inside}/{name}")
        return found

    def read_into(
        self, found: dict[str, Reading], folder: str, names: Sequence[str], limit: int = ATTRIBUTE_LIMIT
    ) -> None:
        self._inner.read_into(found, folder, names, limit)
        for name in names:
            reading = found.get(name)
            place = self._trace(f"{folder}/{name}") if isinstance(reading, bytes) else None
            if place is not None and isinstance(reading, bytes):
                self._into.files[place] = reading

    def link(self, path: str) -> str | None:
        self._trace(path)
        return self._inner.link(path)

    def is_folder(self, path: str) -> bool:
        found = self._inner.is_folder(path)
        if found:
            inside = self._trace(path)
            if inside is not None:
                self._into.folders.add(inside)
        return found

    def _trace(self, path: str) -> str | None:
        """Where a path leads, with every link on the way kept."""
        here = ""
        for part in path.split("/"):
            step = posixpath.join(here, part)
            target = self._inner.link(step)
            if target is None:
                here = step
                continue
            if not target.startswith("/dev/"):
                self._into.links[step] = target
            found = self._inner.resolve(step)
            if found is None:
                return None
            here = found
        return here


def _is_of_usb(folder: str) -> bool:
    """Whether a folder is one of a device on the bus or the list of those; other listings name other things, too."""
    return folder == "sys/bus/usb/devices" or "/usb" in folder
