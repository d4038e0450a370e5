"""How fast and in how much memory a kernel log is read. Run by hand: `python tests/bench/bench_kernel_log.py [GB]`.

The log is made here: ordinary lines of a desktop and one sign in a thousand. Targets are the project's own:
60 MB/s, at most twice the time of one plain pass of `re` with the same message beginnings, flat memory.
"""

import random
import re
import resource
import sys
import time
from collections.abc import Callable, Iterator
from functools import partial

from wizard.observe.kernel_log import read_signs
from wizard.observe.kernel_log_driver_patterns import DRIVERS
from wizard.observe.kernel_log_patterns import USB

ORDINARY = (
    b'[%d.123456] audit: type=1400 audit(1.2:3): apparmor="STATUS" operation="profile_load" comm="parser"',
    b"Dec 16 12:54:10 host kernel: [%d.123456] wlp2s0: authenticated with an access point, tries 1",
    b"Dec 16 12:54:10 host systemd[1]: Started Session %d of user someone, unit session.scope.",
    b"[%d.123456] input: Plain Keyboard as /devices/pci0000:00/0000:00:14.0/usb1/1-2/1-2:1.0/0003:1209:0001.0031/input",
    b"[%d.123456] usb 1-2: New USB device found, idVendor=1209, idProduct=0001, bcdDevice= 0.28",
    b"[%d.123456] usb 1-2: Product: Plain Keyboard",
    b"[%d.123456] EXT4-fs (nvme0n1p2): mounted filesystem with ordered data mode. Opts: (null)",
    b"[%d.123456] pcieport 0000:02:02.0: bridge window [mem 0x00100000-0x000fffff 64bit pref] to [bus 39]",
    b"Dec 16 12:54:10 host NetworkManager[800]: <info>  [%d.123] device (wlp2s0): state change: config -> ip-config",
)
SIGNS = (
    b"[%d.5] usb 1-2: reset high-speed USB device number 5 using xhci_hcd",
    b"[%d.5] usb usb2-port3: Cannot enable. Maybe the USB cable is bad?",
    b"Dec 16 12:54:11 host kernel: [%d.5] xhci_hcd 0000:00:14.0: Timeout while waiting for setup device command",
)
ONE_IN = 1_000


def made_log(size: int, seed: int = 1) -> bytes:
    """About `size` bytes of lines; the same for the same seed."""
    pick = random.Random(seed)
    lines: list[bytes] = []
    held = 0
    while held < size:
        form = pick.choice(SIGNS) if len(lines) % ONE_IN == ONE_IN - 1 else pick.choice(ORDINARY)
        lines.append(form % pick.randrange(10**6))
        held += len(lines[-1]) + 1
    return b"\n".join(lines) + b"\n"


def full_pattern() -> re.Pattern[bytes]:
    """One alternation of all message patterns of the tables, as they stand there: what the reading finds."""
    return re.compile("|".join(p for table in (USB, DRIVERS) for ps in table.values() for p in ps).encode("ascii"))


def short_pattern() -> re.Pattern[bytes]:
    """A plain filter that a line-by-line reader might begin with: every sign's line holds one of these words."""
    return re.compile(rb"usb|USB|hub|[xeou]hci|scsi|sd[a-z]|uas|tty(?:USB|ACM)|uvc|oltage|/dev/|repeated")


def count(pattern: re.Pattern[bytes], data: bytes) -> int:
    """How often a pattern is found."""
    return sum(1 for _ in pattern.finditer(data))


def best_of(runs: int, work: Callable[[], object]) -> float:
    """Seconds of processor time of the quickest run."""
    times = []
    for _ in range(runs):
        begin = time.process_time()
        work()
        times.append(time.process_time() - begin)
    return min(times)


def _say(text: str) -> None:
    sys.stdout.write(f"{text}\n")


def main() -> None:
    """Measure and print."""
    read_signs([SIGNS[0] % 1])  # compiles the searches
    piece = made_log(1_000_000)
    parts = int(float(sys.argv[1]) * 1_000) if len(sys.argv) > 1 else 200

    def stream() -> Iterator[bytes]:
        for _ in range(parts):
            yield piece

    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    begin = time.process_time()
    signs = read_signs(stream())
    seconds = time.process_time() - begin
    grown = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before
    _say(
        f"{parts} MB streamed in {seconds:.1f} s ({parts / seconds:.0f} MB/s), {len(signs)} signs; the process had "
        f"{before / 1024:.0f} MB at most before, and {grown / 1024:.1f} MB more after"
    )

    data = made_log(64_000_000)
    megabytes = len(data) / 1e6
    ours = best_of(3, lambda: read_signs([data]))
    _say(f"reading: {megabytes / ours:.0f} MB/s")
    part = data[:16_000_000]
    for name, pattern in (("all patterns", full_pattern()), ("a few words", short_pattern())):
        plain = best_of(2, partial(count, pattern, part)) * len(data) / len(part)
        _say(f"one pass of re, {name}: {megabytes / plain:.0f} MB/s; reading takes {ours / plain:.2f} times as long")


if __name__ == "__main__":
    main()
