"""In the machine: plug and pull many times while Portmend watches, with few rights; and overrun it, with few and all.

Writes to /run/lab: `plugged.json` (what was done and when), `few.jsonl` and `full.jsonl` (what was told, with the
time at which it arrived). The watch with all rights stands still until the end.
"""

from __future__ import annotations

import ctypes
import json
import os
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

from lab.guest.emulated import Emulated, Loop, Wanted

OUT = Path("/run/lab")
CYCLES = int(sys.argv[1])
OVERRUN = int(sys.argv[2])

_DROP_FROM_BOUNDING_SET = 24  # PR_CAPBSET_DROP, include/uapi/linux/prctl.h
_SYS_ADMIN, _SYSLOG = 21, 34  # include/uapi/linux/capability.h


def without_log() -> None:
    """As an ordinary user of a system that keeps the kernel's log to itself."""
    libc = ctypes.CDLL(None, use_errno=True)
    for capability in (_SYS_ADMIN, _SYSLOG):
        if libc.prctl(_DROP_FROM_BOUNDING_SET, capability, 0, 0, 0) != 0:
            os._exit(99)


class Watching:
    """`portmend watch --json` in a process of its own; each line is kept with the time it arrived."""

    def __init__(self, name: str, few_rights: bool) -> None:
        self._name = name
        self.lines: list[tuple[float, str]] = []
        self.process = subprocess.Popen(
            [sys.executable, "-m", "wizard", "watch", "--json"],
            stdout=subprocess.PIPE,
            stderr=(OUT / f"{name}.txt").open("wb"),
            text=True,
            preexec_fn=without_log if few_rights else None,
        )
        self._reader = threading.Thread(target=self._read)
        self._reader.start()

    def _read(self) -> None:
        assert self.process.stdout is not None
        for line in self.process.stdout:
            self.lines.append((time.monotonic(), line))

    def end(self) -> None:
        """Ctrl-C, and everything it told to a file."""
        self.process.send_signal(signal.SIGINT)
        self._reader.join(60)
        code = self.process.wait(10)
        with (OUT / f"{self._name}.jsonl").open("w") as file:
            for at, line in self.lines:
                file.write(json.dumps({"at": at, "said": json.loads(line)}) + "\n")
            file.write(json.dumps({"at": time.monotonic(), "code": code}) + "\n")


def both() -> tuple[Watching, Watching]:
    """Both watches, begun and at work: each has told of a device that was plugged to see whether it hears."""
    watching = Watching("few", few_rights=True), Watching("full", few_rights=False)
    probe = Emulated(Wanted(product="probe", driverless=True), loop, port=1)
    while not all(any("connect" in line for _, line in w.lines) for w in watching):
        probe.plug()
        loop.run(lambda: probe.configured is not None, 10)
        loop.run(lambda: False, 1.0)
        probe.pull()
        loop.run(lambda: False, 1.0)
    for watch in watching:
        watch.lines.clear()
    return watching


def cycle() -> None:
    """In, until it is set up, and out."""
    done.append((stick.plug(), "connect"))
    loop.run(lambda: stick.configured is not None, 10)
    loop.run(lambda: False, 0.02)
    done.append((stick.pull(), "disconnect"))


loop = Loop()
stick = Emulated(Wanted(product="in and out", driverless=True), loop)
done: list[tuple[float, str]] = []
few, full = both()
full.process.send_signal(signal.SIGSTOP)
for _ in range(CYCLES):
    cycle()
loop.run(lambda: False, 2.0)
(OUT / "plugged.json").write_text(json.dumps(done))

# Neither keeps up now: they stand still while more happens than the system keeps for them. At last it stays plugged.
few.process.send_signal(signal.SIGSTOP)
for _ in range(OVERRUN):
    cycle()
stick.plug()
loop.run(lambda: stick.configured is not None, 10)
few.process.send_signal(signal.SIGCONT)
full.process.send_signal(signal.SIGCONT)
loop.run(lambda: False, 6.0)
few.end()
full.end()
