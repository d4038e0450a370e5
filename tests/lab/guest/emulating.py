"""In the machine: controls with an even pace and with planted gaps, a device too hungry for its socket, a mute one.

Writes to /run/lab what Portmend found of each, and the kernel's log.
"""

from __future__ import annotations

import threading

from lab.guest.emulated import Emulated, Loop, Wanted
from lab.guest.inside import OUT, device_called, kernel_log, portmend

from wizard import wiring

PLANTED = ((1.0, 0.02), (2.0, 0.2), (3.0, 3.0))

# Three addresses with two requests each that wait 5 s, and new tries after a power cycle (from memory).
GIVEN_UP_S = 200.0

loop = Loop()


def is_given_up() -> bool:
    """Whether the kernel has stopped trying to bring a device up."""
    kernel_log("log-mute.txt")
    return "unable to enumerate USB device" in (OUT / "log-mute.txt").read_text()


def pace_of(name: str, wanted: Wanted, seconds: float) -> None:
    """Plug it, take its pace, pull it."""
    device = Emulated(wanted, loop)
    device.plug()
    loop.run(lambda: device.configured is not None, 10)
    loop.run(lambda: False, 1.0)
    with loop.beside():
        portmend(name, "pace", device_called(wanted.product), "--for", str(seconds), "--json")
    device.pull()
    loop.run(lambda: False, 1.0)


pace_of("steady", Wanted(product="steady", period_ms=1.0, promised=1), 4.0)
pace_of("gaps", Wanted(product="gaps", period_ms=1.0, promised=1, gaps=PLANTED), 9.0)
pace_of("slow", Wanted(product="slow", period_ms=32.0, promised=8), 5.0)


def watch() -> None:
    """Follow the bus until told to stop, and keep the summary."""
    summary = wiring.watch(stopped.is_set, lambda _event: None)
    (OUT / "watch.json").write_text(summary.model_dump_json(by_alias=True))


stopped = threading.Event()
watching = threading.Thread(target=watch)
watching.start()
loop.run(lambda: False, 3.0)

# A socket gives 500 mA (USB 2.0 §7.2.1); 510 is the most bMaxPower can ask for (255 x 2 mA).
hungry = Emulated(Wanted(product="hungry", power_ma=510), loop)
hungry.plug()
loop.run(lambda: False, 3.0)
portmend("look-hungry", "look", "--json")
(OUT / "hungry").write_text(device_called("hungry"))
kernel_log("log-hungry.txt")
hungry.pull()
loop.run(lambda: False, 2.0)

mute = Emulated(Wanted(product="mute", mute=True), loop)
mute.plug()
loop.run(lambda: False, 2.0)
portmend("look-mute", "look", "--json")  # while the kernel waits for it and keeps its hub locked
for _ in range(int(GIVEN_UP_S / 10)):
    if not is_given_up():
        loop.run(lambda: False, 10.0)
loop.run(lambda: False, 1.0)
kernel_log("log-mute.txt")
mute.pull()
loop.run(lambda: False, 3.0)
stopped.set()
loop.run(lambda: not watching.is_alive(), 10)
