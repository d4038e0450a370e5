"""A Linux kernel for the laboratory's machine: where one is found, and which of its modules are needed.

Takes the kernel of this computer if its image may be read, else asks apt for Debian's, unpacks it and installs
nothing. Knows files of kernels; not what is done with them.
"""

from __future__ import annotations

import lzma
import os
import platform
import re
import shutil
import subprocess
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

APT_SECONDS = 300
_DEPENDS = re.compile(rb"\0depends=([^\0]*)\0")
_ENDINGS = (".ko", ".ko.xz", ".ko.zst")


class NoLabError(Exception):
    """The laboratory can't be had here; the sentence says why, and what would help."""


@dataclass(frozen=True)
class Kernel:
    """An image to boot and the folder of its modules."""

    image: Path
    modules: Path

    def load_order(self, names: Iterable[str]) -> list[tuple[str, bytes]]:
        """The modules of these names and all that they need, in the order to load them, unpacked."""
        files = {plain_name(path.name): path for path in self.modules.rglob("*.ko*") if path.name.endswith(_ENDINGS)}
        ready: dict[str, bytes] = {}

        def add(name: str) -> None:
            if name in ready or name not in files:  # what has no file is built in
                return
            data = unpacked(files[name])
            found = _DEPENDS.search(data)
            for other in found[1].decode("ascii").split(",") if found else ():
                add(plain_name(other))
            ready[name] = data

        for name in names:
            add(plain_name(name))
        return list(ready.items())


def plain_name(file: str) -> str:
    """A module's name as the kernel compares it: `uhci-hcd.ko.xz` is `uhci_hcd`."""
    return file.partition(".")[0].replace("-", "_")


def unpacked(path: Path) -> bytes:
    """The bytes of a module, however it is stored."""
    if path.suffix == ".xz":
        return lzma.decompress(path.read_bytes())
    if path.suffix == ".zst":
        program = shutil.which("zstd")
        if program is None:
            raise NoLabError(f"{path.name} is packed with zstd, and there is no program to unpack it")
        return subprocess.run([program, "-dcq", str(path)], capture_output=True, check=True).stdout
    return path.read_bytes()


def find_kernel(store: Path) -> Kernel:
    """A kernel with its modules; what has to be fetched is kept in STORE. Raises NoLabError."""
    if platform.system() != "Linux" or platform.machine() != "x86_64":
        raise NoLabError("the laboratory runs this computer's Python in its machine, and that needs Linux on x86-64")
    return installed(Path("/")) or installed(store / "kernel") or fetched(store)


def installed(root: Path) -> Kernel | None:
    """The newest kernel below ROOT whose image may be read and that has the modules that matter."""
    folders = sorted((root / "lib/modules").glob("*/kernel/drivers/usb/usbip"), key=_age)
    for folder in reversed(folders):
        modules = folder.parents[3]
        for image in (root / "boot" / f"vmlinuz-{modules.name}", modules / "vmlinuz"):
            try:
                image.open("rb").close()
            except OSError:
                continue
            return Kernel(image, modules)
    return None


def _age(folder: Path) -> list[int]:
    return [int(digits) for digits in re.findall(r"\d+", folder.parents[3].name)]


def fetched(store: Path) -> Kernel:
    """Debian's kernel, downloaded and unpacked below STORE."""
    if os.geteuid() == 0:
        _apt("apt-get", "-qq", "update")
    shown = _apt("apt-cache", "depends", "linux-image-amd64")
    name = re.search(r"Depends: (linux-image-\d\S*)", shown)
    if name is None:
        raise NoLabError("there is no kernel here whose image may be read, and apt knows no 'linux-image-amd64'")
    unpack_package(name[1], store / "kernel")
    for useless in ("drivers/gpu", "drivers/net", "drivers/media", "drivers/iio", "drivers/infiniband", "sound"):
        for folder in (store / "kernel/lib/modules").glob(f"*/kernel/{useless}"):
            shutil.rmtree(folder)
    kernel = installed(store / "kernel")
    if kernel is None:
        raise NoLabError(f"the package {name[1]} holds no kernel that the laboratory can use")
    return kernel


def find_busybox(store: Path) -> Path:
    """A busybox that needs no libraries: the first program of the machine. Raises NoLabError."""
    fetched_one = store / "busybox"
    for place in (shutil.which("busybox"), *(fetched_one / part for part in ("bin/busybox", "usr/bin/busybox"))):
        if place is not None and Path(place).is_file() and b"/ld-linux" not in Path(place).read_bytes():
            return Path(place)
    unpack_package("busybox-static", fetched_one)
    return next(path for path in fetched_one.rglob("busybox") if path.is_file() and path.parent.name == "bin")


def unpack_package(name: str, folder: Path) -> None:
    """Download a Debian package and unpack it into FOLDER, without installing it. Raises NoLabError."""
    folder.mkdir(parents=True, exist_ok=True)
    _apt("apt-get", "-qq", "download", name, folder=folder)
    for package in folder.glob("*.deb"):
        _apt("dpkg-deb", "-x", str(package), str(folder))
        package.unlink()


def _apt(*command: str, folder: Path | None = None) -> str:
    if shutil.which(command[0]) is None:
        raise NoLabError(f"there is nothing to boot here, and no {command[0]} to fetch it with")
    try:
        done = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False, timeout=APT_SECONDS)
    except subprocess.TimeoutExpired:
        raise NoLabError(f"'{' '.join(command)}' did not end within {APT_SECONDS} s") from None
    if done.returncode != 0:
        last = (done.stderr.strip().splitlines() or ["it gave no reason"])[-1]
        raise NoLabError(f"'{' '.join(command)}' failed: {last}")
    return done.stdout
