"""A small virtual machine with a real USB stack: boots, runs one Python program in it, brings back what it wrote.

QEMU emulates everything, so neither rights nor virtualisation are needed. The machine sees this computer's files
read-only, and writes to one folder. A program in it may ask for plugging and unplugging by leaving a request in
that folder.
"""

from __future__ import annotations

import json
import os
import shlex
import shutil
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from lab.archive import first_files
from lab.kernel import NoLabError, find_busybox, find_kernel

CHECKOUT = Path(__file__).parents[2]
GUEST = Path(__file__).parent / "guest"

EARLY = ("virtio_pci", "9pnet_virtio", "9p")
DRIVERS = (
    *("uhci-hcd", "ehci-pci", "ohci-pci", "xhci-pci", "vhci-hcd"),
    *("evdev", "usbhid", "hid-generic", "usb-storage", "sd_mod", "nls_ascii", "nls_cp437", "vfat"),
)
BARE = ("uhci-hcd", "ehci-pci", "xhci-pci")
"""Controllers and hubs alone: devices are set up and left without a driver."""

# Common to every boot: quick, quiet, repeatable. Root hubs never sleep, because the emulated UHCI does not wake up.
_KERNEL = (
    "console=ttyS0 quiet loglevel=4 panic=-1 mitigations=off nokaslr no_timer_check "
    "random.trust_cpu=on rcupdate.rcu_expedited=1 usbcore.autosuspend=-1"
)
# A processor's own count of time is exact if it follows the instructions; else it is measured at the start, which a
# busy host spoils (ten times too fast was seen), and a clock that QEMU keeps is better.
_COUNTED, _NOT_COUNTED = "tsc=reliable", "tsc=unstable clocksource=hpet"
_POLL_S = 0.02


@dataclass(frozen=True)
class Boot:
    """What one boot needs: the program (a file of `guest/`), QEMU's devices, modules, and limits.

    `counted` lets the machine's time follow the instructions it executes: waiting then costs nothing and timing is
    exact, but nothing outside may set the pace. `beside` runs in a thread as long as the machine does; it is given
    a question to ask: is it over?
    """

    program: str
    devices: Sequence[str] = ()
    drivers: Sequence[str] = DRIVERS
    kernel: str = ""
    counted: bool = False
    seconds: float = 600.0
    beside: Callable[[Callable[[], bool]], None] | None = None
    arguments: Sequence[str] = ()


@dataclass
class Results:
    """What came back: a folder of files, and the program's own output."""

    folder: Path
    code: int

    def story(self) -> str:
        """What can be told of a boot that went wrong: the ends of what program, machine and kernel said."""
        names = ("said.txt", "console.txt", "qemu.txt")
        return "\n".join(f"--- {n}\n{self.text(n)[-2000:]}" for n in names if (self.folder / n).is_file())

    def text(self, name: str) -> str:
        """One file the program wrote."""
        return (self.folder / name).read_text("utf-8", "replace")

    def json(self, name: str) -> Any:
        """One document the program wrote."""
        return json.loads(self.text(name))

    def lines(self, name: str) -> list[Any]:
        """A file with one document a line."""
        return [json.loads(line) for line in self.text(name).splitlines() if line.strip()]


class Machine:
    """Boots machines one after the other; STORE keeps what had to be fetched. Raises NoLabError if it can't."""

    def __init__(self, store: Path) -> None:
        program = shutil.which("qemu-system-x86_64")
        if program is None:
            raise NoLabError("the laboratory needs qemu-system-x86_64 (Debian: apt-get install qemu-system-x86)")
        self._program = program
        self._kernel = find_kernel(store)
        self._busybox = find_busybox(store)

    def run(self, boot: Boot, folder: Path) -> None:
        """Boot, run the program, wait until it has ended. FOLDER is what the program sees as /run/lab."""
        until = time.monotonic() + boot.seconds
        (folder / "first-files").write_bytes(
            first_files(self._busybox, self._kernel.load_order(EARLY), self._kernel.load_order(boot.drivers))
        )
        (folder / "start.sh").write_text(_start_script(boot), "utf-8")
        with (folder / "qemu.txt").open("wb") as said:
            process = subprocess.Popen(
                self._command(boot, folder), stdin=subprocess.DEVNULL, stdout=said, stderr=subprocess.STDOUT
            )
        over = threading.Event()
        beside = threading.Thread(target=boot.beside or (lambda _is_over: None), args=(over.is_set,))
        beside.start()
        try:
            _attend(process, folder, until)
        finally:
            over.set()
            process.kill()
            process.wait()
            beside.join()

    def _command(self, boot: Boot, folder: Path) -> list[str]:
        shares = []
        for tag, path, more in (("host", "/", ",readonly=on"), ("lab", str(folder), "")):
            shares += ["-fsdev", f"local,id={tag},path={path},security_model=none,multidevs=remap{more}"]
            shares += ["-device", f"virtio-9p-pci,fsdev={tag},mount_tag={tag}"]
        counted = ["-icount", "shift=0,sleep=off"] if boot.counted else []
        return [
            *(self._program, "-accel", "tcg,thread=single,tb-size=256", "-cpu", "max", "-machine", "q35,usb=off"),
            *("-smp", "1", "-m", "640", "-nodefaults", "-no-user-config", "-display", "none", "-no-reboot"),
            *("-kernel", str(self._kernel.image), "-initrd", str(folder / "first-files")),
            *("-append", f"{_KERNEL} {_COUNTED if boot.counted else _NOT_COUNTED} {boot.kernel}"),
            *("-chardev", f"file,id=console,path={folder / 'console.txt'}", "-serial", "chardev:console"),
            *("-qmp", f"unix:{folder / 'qmp'},server=on,wait=off", "-device", "virtio-rng-pci"),
            *shares,
            *counted,
            *boot.devices,
        ]


def _attend(process: subprocess.Popen[bytes], folder: Path, until: float) -> None:
    """Until the program has ended: do what it asks for. The rest would only be switching off."""
    asked = 0
    while process.poll() is None and time.monotonic() < until and not (folder / "ended").is_file():
        request = folder / f"ask-{asked}.json"
        if request.is_file():
            part = folder / "answer.part"
            part.write_text(json.dumps(control(folder / "qmp", json.loads(request.read_text()))))
            part.rename(folder / f"answer-{asked}.json")
            asked += 1
        time.sleep(_POLL_S)


def control(path: Path, request: dict[str, Any]) -> Any:
    """QEMU's answer to one command on its control channel (docs/interop/qmp-spec of QEMU)."""
    with socket.socket(socket.AF_UNIX) as end:
        end.connect(str(path))
        with end.makefile("rw") as channel:
            channel.readline()  # who it is
            answer: Any = {}
            for one in ({"execute": "qmp_capabilities"}, request):
                channel.write(json.dumps(one) + "\n")
                channel.flush()
                while not answer.keys() & {"return", "error"}:  # events may come in between
                    answer = json.loads(channel.readline() or '{"error": {"desc": "the machine has gone"}}')
                last, answer = answer, {}
    return last


def _start_script(boot: Boot) -> str:
    variables = {
        "HOME": "/run/home",
        "TMPDIR": "/run/home",
        "LANG": "C.UTF-8",
        "PATH": os.defpath + ":/usr/sbin:/sbin",
        "PYTHONDONTWRITEBYTECODE": "1",
        "PYTHONPATH": f"{CHECKOUT}:{CHECKOUT / 'tests'}",
    }
    command = [sys.executable, str(GUEST / boot.program), *boot.arguments]
    exports = "".join(f"export {name}={shlex.quote(value)}\n" for name, value in variables.items())
    return f"{exports}cd {shlex.quote(str(CHECKOUT))}\nexec {shlex.join(command)}\n"
