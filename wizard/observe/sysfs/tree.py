"""A tree of small files that can be looked at without ever hanging on it or leaving it.

Knows folders, files and links; not what they mean. Two kinds exist: `disk.DiskTree` (the live system,
or a captured tree in a folder) and `archive.ArchiveTree` (a captured tree in a tar file).

Paths inside a tree are relative and use `/`: `sys/bus/usb/devices`. A link to `/sys/x` means `sys/x`
of the same tree, and one that climbs above the top leads nowhere.
"""

from collections.abc import Callable, Sequence
from typing import Literal, Protocol

from wizard.bus.model import Reason

Kind = Literal["folder", "file", "link", "other"]
Reading = bytes | Reason | None
"""The bytes of a file; a reason why it can't be read though it is there; None where there is none."""

ATTRIBUTE_LIMIT = 4096
"""Bytes of a text attribute: Linux prints them into one page (kernel handbook, filesystems/sysfs)."""

_MOST_LINKS = 40  # as many in a chain as Linux follows (man 7 path_resolution)


class Tree(Protocol):
    """What an observer needs of a tree. Nothing here raises; links are followed, but never out of it."""

    def resolve(self, path: str) -> str | None:
        """The path with every link followed; None if that leads out of the tree or in a circle."""

    def names(self, folder: str) -> dict[str, Kind]:
        """What a folder holds; empty where there is no such folder."""

    def read_into(
        self, found: dict[str, Reading], folder: str, names: Sequence[str], limit: int = ATTRIBUTE_LIMIT
    ) -> None:
        """Read files of one folder, one after the other, into `found` by name; a name may begin with a sub-folder.

        At most `limit` bytes each; a longer one is `too_large`. Only regular files are ever opened.
        """

    def link(self, path: str) -> str | None:
        """Where the link at `path` points, as written; None if there is no link."""

    def is_folder(self, path: str) -> bool:
        """Whether a folder is there, not counting a link to one."""


def read_one(tree: Tree, path: str, limit: int = ATTRIBUTE_LIMIT) -> Reading:
    """One file of a tree."""
    folder, _, name = path.rpartition("/")
    found: dict[str, Reading] = {}
    tree.read_into(found, folder, (name,), limit)
    return found[name]


class Resolver:
    """Follows links inside one tree and remembers where they lead. It lives as long as one look.

    `link` gives the target of a link, or None for what is none.
    """

    def __init__(self, link: Callable[[str], str | None]) -> None:
        self._link = link
        self._plain: set[str] = {""}
        self._leads: dict[str, str | None] = {}

    def resolve(self, path: str) -> str | None:
        """As `Tree.resolve`. Whether anything is at the end is not checked."""
        return path if path in self._plain else self._walk("", path, 0)

    def learn(self, path: str) -> None:
        """Take it that the entry at `path` is no link; its folder must be resolved."""
        self._plain.add(path)

    def place(self, path: str) -> str | None:
        """The path with its folder resolved, but not the last part itself."""
        folder, _, name = path.rpartition("/")
        inside = self.resolve(folder)
        return None if inside is None else _join(inside, name)

    def _walk(self, base: str, path: str, links: int) -> str | None:
        """Where `path` leads from the folder `base`, which holds no links itself."""
        while path.startswith("../"):
            if not base:
                return None
            base, path = base.rpartition("/")[0], path[3:]
        folder, _, name = path.rpartition("/")
        known = _join(base, folder) if folder else base
        if known in self._plain and name not in ("", ".", ".."):
            return self._step(known, name, links)
        at: str | None = base
        for part in path.split("/"):
            if part == ".." and not at:
                return None
            if at is not None and part not in ("", "."):
                at = at.rpartition("/")[0] if part == ".." else self._step(at, part, links)
        return at

    def _step(self, folder: str, name: str, links: int) -> str | None:
        """Where the entry `name` of a folder leads: to itself, unless it is a link."""
        here = _join(folder, name)
        if here in self._plain:
            return here
        if here in self._leads:
            return self._leads[here]
        target = self._link(here)
        if target is None:
            self._plain.add(here)
            return here
        self._leads[here] = None  # for the time being, so that a circle ends
        if links < _MOST_LINKS:
            self._leads[here] = self._walk("" if target.startswith("/") else folder, target, links + 1)
        return self._leads[here]


def _join(folder: str, name: str) -> str:
    return f"{folder}/{name}" if folder else name
