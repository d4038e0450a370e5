"""A captured tree in a tar file, held in memory. Knows the container; not what the files mean.

Nothing is unpacked to disk: names such as `0000:00:14.0` can't exist on every system, and nothing can
be written where it does not belong. The file may be hostile: size, number and names are limited.
"""

import gzip
import io
import tarfile
import zlib
from collections.abc import Callable, Sequence
from pathlib import Path

from wizard.bus.errors import BadInputError
from wizard.observe.sysfs.tree import ATTRIBUTE_LIMIT, Kind, Reading, Resolver

_MOST_BYTES = 128 * 1024 * 1024  # unpacked; a capture of 127 devices has some 10 MB
_MOST_MEMBERS = 100_000  # a capture of 127 devices has some 40,000
_MOST_KEPT = 1024 * 1024  # of one file; no attribute is that long
_CHUNK = 1 << 16
_PADDING = 20_480  # zeros up to the end of a record of 20 blocks, and as many once more: POSIX pax
_MEND = "Give a capture as a folder or as a .tar or .tar.gz of one that holds `sys`."


class ArchiveTree:
    """The files of a tar archive as a tree. Build it with `open_archive`."""

    def __init__(self) -> None:
        self._files: dict[str, bytes | None] = {}
        self._links: dict[str, str] = {}
        self._folders: dict[str, dict[str, Kind]] = {"": {}}
        self._resolver = Resolver(self._links.get)

    def resolve(self, path: str) -> str | None:
        return self._resolver.resolve(path)

    def names(self, folder: str) -> dict[str, Kind]:
        inside = self._resolver.resolve(folder)
        return {} if inside is None else dict(self._folders.get(inside, {}))

    def read_into(
        self, found: dict[str, Reading], folder: str, names: Sequence[str], limit: int = ATTRIBUTE_LIMIT
    ) -> None:
        for name in names:
            found[name] = self._read(f"{folder}/{name}", limit)

    def _read(self, path: str, limit: int) -> Reading:
        inside = self._resolver.resolve(path)
        if inside is None:
            return "failed"
        if inside not in self._files:
            return "failed" if inside in self._folders or self._is_odd(inside) else None
        data = self._files[inside]
        return "too_large" if data is None or len(data) > limit else data

    def link(self, path: str) -> str | None:
        place = self._resolver.place(path)
        return None if place is None else self._links.get(place)

    def is_folder(self, path: str) -> bool:
        place = self._resolver.place(path)
        return place is not None and place not in self._links and place in self._folders

    def _is_odd(self, path: str) -> bool:
        parent, _, name = path.rpartition("/")
        return self._folders.get(parent, {}).get(name) == "other"

    def add(self, path: str, kind: Kind, data: bytes | None = None, target: str = "") -> None:
        """Put one member in; a later one of the same name takes its place. None as data: too long to keep."""
        self._files.pop(path, None)
        self._links.pop(path, None)
        parent, _, name = path.rpartition("/")
        self._grow(parent)
        self._folders[parent][name] = kind
        if kind == "folder":
            self._folders.setdefault(path, {})
        elif kind == "link":
            self._links[path] = target
        elif kind == "file":
            self._files[path] = data

    def _grow(self, folder: str) -> None:
        if folder not in self._folders:
            parent, _, name = folder.rpartition("/")
            self._grow(parent)
            self._folders[folder] = {}
            self._folders[parent][name] = "folder"

    def same_as(self, path: str) -> bytes | None:
        """The bytes of an earlier member, for a hard link to it."""
        return self._files.get(path)


class _Bounded(io.RawIOBase):
    """A stream that refuses to give more than the limit, so that a small file can't unpack to a huge one."""

    def __init__(self, inner: io.BufferedIOBase) -> None:
        self._inner = inner
        self._left = _MOST_BYTES

    def readable(self) -> bool:
        return True

    def read(self, size: int = -1, /) -> bytes:
        if size < 0 or size > self._left:
            raise tarfile.ReadError("unpacks to more than a capture can hold")
        data = self._inner.read(size)
        self._left -= len(data)
        return data

    def drained(self) -> int:
        """Read to the end, which lets gzip check its sum; the number of bytes there were in all."""
        while self.read(min(_CHUNK, self._left)):
            pass
        return _MOST_BYTES - self._left


def open_archive(path: Path, stopped: Callable[[], None]) -> ArchiveTree:
    """Read a `.tar`, plain or gzipped. `stopped` is called now and then and may raise to end the work.

    Raises BadInputError if it is no archive, broken, or greater than a capture can be.
    """
    try:
        with path.open("rb") as raw:
            packed = raw.read(2) == b"\x1f\x8b"  # gzip: RFC 1952 §2.3.1
            raw.seek(0)
            inner: io.BufferedIOBase = gzip.GzipFile(fileobj=raw) if packed else raw
            # `r|`: front to back, nothing is sought or unpacked twice.
            stream = _Bounded(inner)
            with tarfile.open(fileobj=stream, mode="r|") as archive:
                tree = _gathered(archive, stopped)
                # A broken header in the middle ends a tar file silently: then far more than padding is left over.
                if stream.drained() - archive.offset > _PADDING:
                    raise tarfile.ReadError("it is damaged in the middle")
                return tree
    except (tarfile.TarError, zlib.error, EOFError, OSError, ValueError, RecursionError) as error:
        # OSError: an unreadable file or broken packing; RecursionError: header upon header, made to hurt.
        raise BadInputError(str(path), f"this is not a readable tar archive ({error})", _MEND) from error


def _gathered(archive: tarfile.TarFile, stopped: Callable[[], None]) -> ArchiveTree:
    tree = ArchiveTree()
    for count, member in enumerate(archive):
        if count >= _MOST_MEMBERS:
            raise tarfile.ReadError("holds more files than a capture can hold")
        if count % 500 == 0:
            stopped()
        name = _clean(member.name)
        if name is not None:
            _add(tree, archive, member, name)
    return tree


def _add(tree: ArchiveTree, archive: tarfile.TarFile, member: tarfile.TarInfo, name: str) -> None:
    if member.isdir():
        tree.add(name, "folder")
    elif member.issym():
        tree.add(name, "link", target=member.linkname)
    elif member.islnk():
        tree.add(name, "file", data=tree.same_as(_clean(member.linkname) or ""))
    elif member.isreg() and not member.issparse():
        stream = archive.extractfile(member) if member.size <= _MOST_KEPT else None
        tree.add(name, "file", data=stream.read() if stream is not None else None)
    else:
        tree.add(name, "other")


def _clean(name: str) -> str | None:
    """A member's path inside the tree; None for one that climbs out or has no name."""
    parts = [part for part in name.split("/") if part not in ("", ".")]
    return "/".join(parts) if parts and ".." not in parts and len(parts) <= 100 else None
