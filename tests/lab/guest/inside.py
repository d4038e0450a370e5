"""What the programs in the laboratory's machine share: running Portmend, asking the host, waiting for the bus."""

from __future__ import annotations

import io
import itertools
import json
import time
from pathlib import Path
from typing import Any

from wizard.terminal.check import WindowChecks
from wizard.terminal.commands import execute
from wizard.terminal.screen import Screen

OUT = Path("/run/lab")
BUS = Path("/sys/bus/usb/devices")
KERNEL_LISTING = Path("/sys/kernel/debug/usb/devices")

_asked = itertools.count()


def portmend(name: str, *argv: str) -> int:
    """Run a command line as `portmend` would; its output, notes, exit code and time go to files called NAME."""
    out, err = io.StringIO(), io.StringIO()
    began = time.monotonic()
    code = execute(argv, WindowChecks(list, lambda _say: 0), Screen(out, err, lambda _prompt: "", 100))
    took = time.monotonic() - began
    (OUT / f"{name}.json").write_text(out.getvalue())
    (OUT / f"{name}.notes").write_text(err.getvalue())
    (OUT / f"{name}.how").write_text(json.dumps({"code": code, "seconds": took}))
    return code


def ask(command: str, **arguments: Any) -> Any:
    """Have the host tell QEMU something, such as `device_del`; QEMU's answer."""
    number = next(_asked)
    part = OUT / "ask.part"
    part.write_text(json.dumps({"execute": command, "arguments": arguments}))
    part.rename(OUT / f"ask-{number}.json")
    answer = OUT / f"answer-{number}.json"
    while not answer.is_file():
        time.sleep(0.02)
    return json.loads(answer.read_text())


def settle(quiet: float = 1.0, longest: float = 30.0) -> None:
    """Until nothing has come or gone on the bus for so many seconds."""
    ends = time.monotonic() + longest
    seen, since = -1, time.monotonic()
    while time.monotonic() - since < quiet and time.monotonic() < ends:
        now = len(list(BUS.iterdir()))
        if now != seen:
            seen, since = now, time.monotonic()
        time.sleep(0.1)


def device_called(name: str) -> str:
    """The id of the device that gives this as its product or its serial number."""
    for path in (*BUS.glob("*/product"), *BUS.glob("*/serial")):
        if path.read_text().strip() == name:
            return path.parent.name
    raise LookupError(name)


def kernel_log(name: str) -> None:
    """Everything the kernel has said until now, as dmesg prints it, into a file."""
    lines = []
    with open("/dev/kmsg", "rb", buffering=0, opener=_without_waiting) as log:
        while (record := _record(log)) is not None:
            head, _, message = record.partition(b";")
            seconds = int(head.split(b",")[2]) / 1e6
            lines.append(f"[{seconds:12.6f}] {message.splitlines()[0].decode('utf-8', 'replace')}\n")
    (OUT / name).write_text("".join(lines))


def _without_waiting(path: str, flags: int) -> int:
    import os

    return os.open(path, flags | os.O_NONBLOCK)


def _record(log: Any) -> bytes | None:
    while True:
        try:
            return log.read(8192) or None
        except BrokenPipeError:  # overwritten meanwhile; the next one is there
            continue
