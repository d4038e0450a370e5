"""Bus time against the books of a real kernel: captures of Linux 6.1 driving UHCI, OHCI and EHCI controllers.

`B: Alloc=` in the kernel's own listing is the mean of what is reserved in a 1 ms frame, rounded down to whole
microseconds. It counts endpoints while they are in use.
"""

import re
import tarfile
from pathlib import Path

import pytest

from wizard.budget.entry import Entry
from wizard.budget.ledger import build_ledger
from wizard.observe import captured
from wizard.observe.seen import Watcher

CAPTURES = Path(__file__).parent.parent / "reference" / "captures"


def listing(archive: Path) -> str:
    with tarfile.open(archive) as tar:
        member = next(m for m in tar.getmembers() if m.name.endswith("sys/kernel/debug/usb/devices"))
        file = tar.extractfile(member)
        assert file is not None
        return file.read().decode()


def booked_by_the_kernel(archive: Path) -> dict[str, int]:
    """Alloc of every bus in microseconds."""
    found = re.findall(r"^T:  Bus=(\d+) Lev=00.*\nB:  Alloc=\s*(\d+)/", listing(archive), re.MULTILINE)
    return {f"usb{int(bus)}": int(alloc) for bus, alloc in found}


def active(archive: Path) -> dict[str, Entry]:
    ledger = build_ledger(captured.look(archive, Watcher()).snapshot)
    return {e.where: e for e in ledger if e.budget == "periodic_time_active"}


@pytest.mark.parametrize(
    ("name", "bus", "expected"),
    [
        ("bw-uhci-int", "usb1", 182),  # nine interrupt endpoints at low and full speed, the hub's among them
        ("bw-ehci-companions", "usb2", 509),  # high speed, one endpoint of 3 × 1024 bytes
        ("bw-ehci-companions", "usb4", 75),  # full and low speed on a companion controller
        ("deep", "usb1", 4),  # five hubs in series and a keyboard
    ],
)
def test_the_mean_frame_equals_what_the_kernel_booked(name: str, bus: str, expected: int) -> None:
    archive = CAPTURES / f"{name}.tar.gz"
    assert booked_by_the_kernel(archive)[bus] == expected
    mean = active(archive)[bus].mean_frame_us
    assert mean is not None
    assert int(mean) == expected


def test_what_the_kernel_refused_is_what_the_ledger_finds_over() -> None:
    """Two streams of 1023 bytes on OHCI: the kernel let one in (806 us) and refused the rest with ENOSPC."""
    archive = CAPTURES / "bw-ohci-full.tar.gz"
    entry = active(archive)["usb1"]
    assert entry.state == "over"
    streams = [p for p in entry.parts if p.ns == 806_166]  # row bt-lx-fs-in-iso-1023 of the check values
    assert len(streams) == 2
    assert booked_by_the_kernel(archive)["usb1"] == 806_166 // 1000  # OHCI books the floor


def test_xhci_keeps_no_books_and_ours_are_exact() -> None:
    archive = CAPTURES / "bw-xhci.tar.gz"
    entry = active(archive)["usb1"]
    assert booked_by_the_kernel(archive)["usb1"] == 0
    assert entry.mean_frame_us == entry.mean_frame_exact_us
