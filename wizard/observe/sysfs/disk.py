"""A tree below a real folder: the running system, or a captured tree. Knows the file system; not what is in it.

A captured tree may hold pipes, device nodes, endless files and links to anywhere. Nothing but a
regular file is opened, no opening waits, and no link is followed by the system itself.
"""

import errno
import os
import stat
from collections.abc import Sequence
from pathlib import Path

from wizard.bus.model import Reason
from wizard.observe.sysfs.tree import ATTRIBUTE_LIMIT, Kind, Reading, Resolver

# Not every system that may read a captured tree has these.
_OPEN = os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)
_FOLDER = os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_DIRECTORY", 0)
_CHUNK = ATTRIBUTE_LIMIT + 1
_BY_HANDLE = os.open in os.supports_dir_fd and os.stat in os.supports_dir_fd


class DiskTree:
    """A tree below `top`; `/` is the running system. Make a new one for every look."""

    def __init__(self, top: Path) -> None:
        self._top = str(top).rstrip("/") + "/"
        self._resolver = Resolver(self._target)

    def _target(self, path: str) -> str | None:
        try:
            return os.readlink(self._top + path)  # noqa: PTH115 - hot path; a Path per link doubles the time
        except (OSError, ValueError):
            return None

    def resolve(self, path: str) -> str | None:
        return self._resolver.resolve(path)

    def names(self, folder: str) -> dict[str, Kind]:
        inside = self._resolver.resolve(folder)
        if inside is None:
            return {}
        try:
            with os.scandir(self._top + inside) as entries:
                return {entry.name: _kind(entry) for entry in entries}
        except OSError:
            return {}

    def read_into(
        self, found: dict[str, Reading], folder: str, names: Sequence[str], limit: int = ATTRIBUTE_LIMIT
    ) -> None:
        inside, handle, reason = self._enter(folder, len(names) > 1)
        if inside is None:
            found.update(dict.fromkeys(names, reason))
            return
        straight = {""}  # sub-folders that no link leads to
        try:
            for name in names:
                try:
                    found[name] = self._read(inside, name, handle, limit, straight)
                except OSError as error:
                    found[name] = reason_of(error)
        finally:
            if handle is not None:
                os.close(handle)

    def _enter(self, folder: str, keep: bool) -> tuple[str | None, int | None, Reason | None]:
        """The folder resolved, and if it is worth it a handle on it; else why that is not possible.

        Looking files up from an open folder saves walking the long path for each of them.
        """
        inside = self._resolver.place(folder)
        if inside is not None and keep and _BY_HANDLE:
            try:
                handle = os.open(self._top + inside, _FOLDER)  # fails for a link
            except OSError as error:
                if error.errno not in (errno.ELOOP, errno.ENOTDIR):
                    return None, None, reason_of(error)
            else:
                self._resolver.learn(inside)
                return inside, handle, None
        inside = self._resolver.resolve(folder)
        return inside, None, "failed" if inside is None else None

    def _read(self, folder: str, name: str, handle: int | None, limit: int, straight: set[str]) -> Reading:
        """One file of a resolved folder, from the handle on it if there is one. Raises OSError."""
        below = name.rpartition("/")[0]
        if below not in straight:
            path = f"{folder}/{name}"
            if self._resolver.place(path) != path:
                return self._read_elsewhere(path, limit)  # a link on the way
            straight.add(below)
        opened = f"{self._top}{folder}/{name}" if handle is None else name
        mode = os.stat(opened, dir_fd=handle, follow_symlinks=False).st_mode
        if stat.S_ISREG(mode):
            return _contents(opened, handle, limit)
        # A pipe or a device node could hang or do harm: never opened.
        return self._read_elsewhere(f"{folder}/{name}", limit) if stat.S_ISLNK(mode) else "failed"

    def _read_elsewhere(self, path: str, limit: int) -> Reading:
        """A file that a link leads to. Raises OSError."""
        target = self._resolver.resolve(path)
        if target is None:
            return "failed"
        full = self._top + target
        return _contents(full, None, limit) if stat.S_ISREG(os.lstat(full).st_mode) else "failed"

    def link(self, path: str) -> str | None:
        place = self._resolver.place(path)
        return None if place is None else self._target(place)

    def is_folder(self, path: str) -> bool:
        place = self._resolver.place(path)
        try:
            return place is not None and stat.S_ISDIR(os.lstat(self._top + place).st_mode)
        except OSError:
            return False


def reason_of(error: OSError) -> Reason | None:
    """Why a file could not be read, in our words; None if it is simply not there."""
    if error.errno in (errno.ENOENT, errno.ENOTDIR):
        return None
    if error.errno in (errno.ENODEV, errno.ENXIO):
        return "vanished"  # Linux answers so for the attributes of a device that has just left
    if error.errno in (errno.EACCES, errno.EPERM):
        return "permission"
    return "failed"


def _kind(entry: os.DirEntry[str]) -> Kind:
    if entry.is_symlink():
        return "link"
    if entry.is_dir(follow_symlinks=False):
        return "folder"
    return "file" if entry.is_file(follow_symlinks=False) else "other"


def _contents(name: str, folder: int | None, limit: int) -> Reading:
    """The bytes of a regular file. Raises OSError."""
    handle = os.open(name, _OPEN, dir_fd=folder)
    try:
        data = chunk = os.read(handle, _CHUNK)
        # Linux hands out binary attributes a page at a time, and less than the smallest page is the end. What may be
        # long comes from other files, too, which end their pages at a line's end.
        least = 1 if limit > ATTRIBUTE_LIMIT else ATTRIBUTE_LIMIT
        while len(chunk) >= least and len(data) <= limit:
            chunk = os.read(handle, _CHUNK)
            data += chunk
    finally:
        os.close(handle)
    return data if len(data) <= limit else "too_large"
