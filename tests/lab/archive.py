"""The first file system of the laboratory's machine, as the kernel wants it: a cpio archive with a start script.

Knows the format ("newc", Documentation/driver-api/early-userspace/buffer-format.rst of Linux) and what has to
happen before Python can run: modules, the host's files read-only, a folder for results.
"""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

FOLDER, PROGRAM, DATA = 0o40755, 0o100755, 0o100644

# Everything of this computer is there, read-only, at the same paths; what a running
# system needs of its own lies over it.
START = """#!/bin/busybox sh
B=/bin/busybox
$B mount -t devtmpfs dev /dev
$B mount -t proc proc /proc
# As modprobe does it: what the kernel's command line says as module.option=value is handed to the module.
load() {{
    given=
    for word in $($B cat /proc/cmdline); do case $word in $1.*) given="$given ${{word#$1.}}";; esac; done
    $B insmod /m/$1.ko $given || echo "lab: $1 is not loaded"
}}
for name in {modules}; do load $name; done
NINE=trans=virtio,version=9p2000.L,msize=262144
$B mount -t 9p -o $NINE,ro,cache=loose host /r || echo "lab: the host's files are not there"
$B mount -t devtmpfs dev /r/dev
$B mount -t proc proc /r/proc
$B mount -t sysfs sys /r/sys
$B mount -t debugfs debug /r/sys/kernel/debug
$B mount -t tmpfs run /r/run
$B mkdir /r/run/lab /r/run/home
$B mount -t 9p -o $NINE,cache=none lab /r/run/lab
$B dmesg -n 4
for name in {late}; do load $name; done
$B chroot /r /bin/sh /run/lab/start.sh >/r/run/lab/said.txt 2>&1
code=$?
$B dmesg >/r/run/lab/dmesg.txt
echo $code >/r/run/lab/ended.part
$B mv /r/run/lab/ended.part /r/run/lab/ended
echo o >/proc/sysrq-trigger
$B sleep 60
"""


def first_files(busybox: Path, early: list[tuple[str, bytes]], late: list[tuple[str, bytes]]) -> bytes:
    """The archive: busybox, modules to load before and after the file systems are there, and the start script."""
    loaded = {name for name, _ in early}
    after = [(name, data) for name, data in late if name not in loaded]
    script = START.format(modules=" ".join(name for name, _ in early), late=" ".join(name for name, _ in after))
    entries = [(name, FOLDER, b"") for name in ("bin", "dev", "proc", "m", "r")]
    entries += [(f"m/{name}.ko", DATA, data) for name, data in (*early, *after)]
    entries += [("bin/busybox", PROGRAM, busybox.read_bytes()), ("init", PROGRAM, script.encode())]
    return cpio(entries)


def cpio(entries: Iterable[tuple[str, int, bytes]]) -> bytes:
    """An archive of entries: path, mode, contents."""
    parts = []
    for number, (path, mode, data) in enumerate((*entries, ("TRAILER!!!", 0, b"")), start=1):
        name = path.encode() + b"\0"
        fields = (number, mode, 0, 0, 1, 0, len(data), 0, 0, 0, 0, len(name), 0)
        head = b"070701" + b"".join(b"%08X" % field for field in fields) + name
        parts += [head, bytes(-len(head) % 4), data, bytes(-len(data) % 4)]
    return b"".join(parts)
