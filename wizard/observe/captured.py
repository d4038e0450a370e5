"""A look at a captured tree: a folder, or a tar archive of one. Knows where `sys` may be; reads nothing itself.

A captured tree holds `sys/devices` at least. It may be broken or hostile: nothing in it is run, no
link leads out of it, and only plain files are read.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from wizard.bus.errors import BadInputError, CancelledError
from wizard.observe.linux import look_at
from wizard.observe.notes import NO_BUS_IN_CAPTURE
from wizard.observe.seen import Seen, Watcher
from wizard.observe.sysfs.archive import open_archive
from wizard.observe.sysfs.disk import DiskTree
from wizard.observe.sysfs.tree import ATTRIBUTE_LIMIT, Kind, Reading, Tree, read_one

LOG_NAME = "portmend/kernel-log.txt"
"""Where a capture of our own keeps the kernel's log."""
LONGEST_LOG = 1_000_000
"""Bytes of that log: less than what is kept of one file of an archive."""

_MEND = "Give the folder, or the .tar.gz, that holds the captured `sys`."


def look(root: Path, watcher: Watcher | None = None) -> Seen:
    """Look at the tree in a folder or archive.

    Raises BadInputError if `root` is missing, not readable, or holds no `sys`; CancelledError if told to stop.
    """
    watching = watcher or Watcher()
    return look_in(open_tree(root, watching), watching)


def look_in(tree: Tree, watcher: Watcher) -> Seen:
    """Look at a tree that was opened already. Raises CancelledError if told to stop."""
    return look_at(tree, watcher, NO_BUS_IN_CAPTURE)


def kept_log(tree: Tree) -> str | None:
    """The kernel's log that a capture of our own brings along; None for a tree without one."""
    reading = read_one(tree, LOG_NAME, LONGEST_LOG)
    return reading.decode("utf-8", errors="replace") if isinstance(reading, bytes) else None


def open_tree(root: Path, watcher: Watcher | None = None) -> Tree:
    """The tree itself. Raises as `look` does."""
    try:
        if root.is_dir():
            return _with_sys(root, DiskTree(root))
        if not root.exists():
            raise BadInputError(str(root), "there is no such file or folder", "Check the spelling. " + _MEND)
        if not root.is_file():
            raise BadInputError(str(root), "this is neither a folder nor a file", _MEND)
    except (OSError, ValueError) as error:
        raise BadInputError(str(root), f"this can't be opened ({error})", _MEND) from error
    return _from_archive(root, watcher or Watcher())


def _from_archive(root: Path, watcher: Watcher) -> Tree:
    def stop_if_told() -> None:
        if watcher.cancelled():
            raise CancelledError("Opening the capture")

    watcher.progress("Opening the capture", None)
    archive = open_archive(root, stop_if_told)
    top = archive.names("")
    if "sys" not in top:
        folders = [name for name, kind in top.items() if kind == "folder"]
        inner = [name for name in folders if "sys" in archive.names(name)]
        if len(inner) == 1:
            return _with_sys(root, _Below(archive, inner[0]))
    return _with_sys(root, archive)


def _with_sys(root: Path, tree: Tree) -> Tree:
    inside = tree.resolve("sys")
    if inside is None or not tree.is_folder(inside):
        raise BadInputError(str(root), "there is no captured `sys` in it", _MEND)
    return tree


@dataclass(frozen=True)
class _Below:
    """A tree that lies one folder down in another one."""

    inner: Tree
    folder: str

    def resolve(self, path: str) -> str | None:
        found = self.inner.resolve(f"{self.folder}/{path}")
        if found is None or not found.startswith(f"{self.folder}/"):
            return None
        return found[len(self.folder) + 1 :]

    def names(self, folder: str) -> dict[str, Kind]:
        return self.inner.names(f"{self.folder}/{folder}")

    def read_into(
        self, found: dict[str, Reading], folder: str, names: Sequence[str], limit: int = ATTRIBUTE_LIMIT
    ) -> None:
        self.inner.read_into(found, f"{self.folder}/{folder}", names, limit)

    def link(self, path: str) -> str | None:
        return self.inner.link(f"{self.folder}/{path}")

    def is_folder(self, path: str) -> bool:
        return self.inner.is_folder(f"{self.folder}/{path}")
