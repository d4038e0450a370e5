"""A tree of small files that can be looked at without ever hanging on it or leaving it.

Knows folders, files and links; not what they mean. Two kinds exist: `DiskTree` (here: the live
system, or a captured tree in a folder) and `archive.ArchiveTree` (a captured tree in a tar file).

Paths inside a tree are relative and use `/`: `sys/bus/usb/devices`. A link to `/sys/x` means `sys/x`
of the same tree, and one that climbs above the top leads nowhere.
"""

import errno
import os
import stat
from collections.abc import Callable
from pathlib import Path
from typing import Literal, Protocol

from wizard.bus.model import Reason

Kind = Literal["folder", "file", "link", "other"]
Reading = bytes | Reason | None
"""The bytes of a file; a reason why it can't be read though it is there; None where there is none."""

ATTRIBUTE_LIMIT = 4096
"""Bytes of a text attribute: Linux prints them into one page (kernel handbook, filesystems/sysfs)."""

_MOST_LINKS = 40  # as many as Linux follows in one path (man 7 path_resolution)


class Tree(Protocol):
    """What an observer needs of a tree. Nothing here raises; links are followed, but never out of it."""

    def resolve(self, path: str) -> str | None:
        """The path with every link followed; None if that leads out of the tree or in a circle."""

    def names(self, folder: str) -> dict[str, Kind]:
        """What a folder holds; empty where there is no such folder."""

    def read(self, path: str, limit: int = ATTRIBUTE_LIMIT) -> Reading:
        """The bytes of a file, at most `limit`; a longer one is `too_large`. Only regular files are opened."""

    def link(self, path: str) -> str | None:
        """Where the link at `path` points, as written; None if there is no link."""

    def is_folder(self, path: str) -> bool:
        """Whether a folder is there, not counting a link to one."""


class Resolver:
    """Follows links inside one tree, and remembers what is no link. It lives as long as one look."""

    def __init__(self, link: Callable[[str], str | None]) -> None:
        self._link = link
        self._plain: set[str] = set()
        self._folders: dict[str, str | None] = {"": ""}

    def resolve(self, path: str) -> str | None:
        """As `Tree.resolve`. Whether anything is at the end is not checked."""
        todo = path.split("/")[::-1]
        done: list[str] = []
        links = 0
        while todo:
            part = todo.pop()
            if part in ("", "."):
                continue
            if part == "..":
                if not done:
                    return None
                done.pop()
                continue
            here = "/".join([*done, part])
            target = None if here in self._plain else self._link(here)
            if target is None:
                self._plain.add(here)
                done.append(part)
                continue
            links += 1
            if links > _MOST_LINKS:
                return None
            if target.startswith("/"):
                done = []
            todo.extend(target.split("/")[::-1])
        return "/".join(done)

    def place(self, path: str) -> str | None:
        """The path with its folder resolved, but not the last part itself."""
        folder, _, name = path.rpartition("/")
        if folder not in self._folders:
            self._folders[folder] = self.resolve(folder)
        inside = self._folders[folder]
        if inside is None:
            return None
        return f"{inside}/{name}" if inside else name


class DiskTree:
    """A tree below a real folder; `/` is the running system. Make a new one for every look."""

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

    def read(self, path: str, limit: int = ATTRIBUTE_LIMIT) -> Reading:
        place = self._resolver.place(path)
        if place is None:
            return "failed"
        full = self._top + place
        try:
            mode = os.lstat(full).st_mode
            if stat.S_ISLNK(mode):
                target = self._resolver.resolve(place)
                if target is None:
                    return "failed"
                full = self._top + target
                mode = os.lstat(full).st_mode
            # A pipe or a device node could hang or do harm: never opened.
            return _contents(full, limit) if stat.S_ISREG(mode) else "failed"
        except OSError as error:
            return reason_of(error)

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


# The last three do not exist on every system that may read a captured tree.
_FLAGS = os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)


def _contents(full: str, limit: int) -> Reading:
    """The bytes of a regular file. Raises OSError."""
    handle = os.open(full, _FLAGS)
    try:
        data = os.read(handle, limit + 1)
        # Linux hands out binary attributes a page at a time; less than the smallest page is the end.
        while ATTRIBUTE_LIMIT <= len(data) <= limit:
            more = os.read(handle, limit + 1 - len(data))
            if not more:
                break
            data += more
    finally:
        os.close(handle)
    return data if len(data) <= limit else "too_large"
