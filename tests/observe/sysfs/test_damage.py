"""A capture that was damaged on its way is refused, not read in part."""

import gzip
import tarfile
from pathlib import Path

import pytest

from wizard.bus.errors import BadInputError
from wizard.observe import captured
from wizard.observe.seen import Watcher

CAPTURE = Path(__file__).parent.parent.parent / "reference" / "captures" / "basic.tar.gz"


def test_a_capture_with_bytes_lost_in_the_middle_is_refused(tmp_path: Path) -> None:
    data = bytearray(CAPTURE.read_bytes())
    middle = len(data) // 2
    data[middle : middle + 100] = bytes(100)
    broken = tmp_path / "broken.tar.gz"
    broken.write_bytes(bytes(data))
    with pytest.raises(BadInputError, match="not a readable tar archive"):
        captured.look(broken, Watcher())


def test_a_plain_archive_with_a_broken_header_is_refused(tmp_path: Path) -> None:
    data = bytearray(gzip.decompress(CAPTURE.read_bytes()))
    with tarfile.open(CAPTURE) as archive:
        member = archive.getmembers()[len(archive.getmembers()) // 2]
    data[member.offset : member.offset + 512] = b"\xff" * 512
    broken = tmp_path / "broken.tar"
    broken.write_bytes(bytes(data))
    with pytest.raises(BadInputError, match="damaged in the middle"):
        captured.look(broken, Watcher())
