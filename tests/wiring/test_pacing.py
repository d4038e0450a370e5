"""The pace of a device from its id to the document: a captured bus, with pipes in place of its nodes."""

import os
from pathlib import Path

import pytest

from wizard import wiring
from wizard.bus.errors import BadInputError
from wizard.bus.pace import Beat
from wizard.observe.captured import look
from wizard.observe.pace_events import EVENT
from wizard.observe.pace_places import Place
from wizard.observe.pace_streams import Stream, stream_of
from wizard.observe.sysfs.archive import open_archive

CAPTURE = Path(__file__).parent.parent / "reference" / "captures" / "joystick.tar.gz"

pytestmark = pytest.mark.skipif(os.name == "nt", reason="device nodes are Linux's")


def moves(times_us: range) -> bytes:
    """An axis that moves by a tenth of the way each time; `struct input_event` of include/uapi/linux/input.h."""
    return b"".join(
        EVENT.pack(at // 10**6, at % 10**6, 3, 0, at // 1000 % 10) + EVENT.pack(at // 10**6, at % 10**6, 0, 0, 0)
        for at in times_us
    )


class Bus:
    """The captured bus; `data` is what each node gives before its device leaves, by path. Others may not be opened."""

    def __init__(self, data: dict[str, bytes]) -> None:
        self._data = data
        self.opened: list[str] = []

    def open(self, place: Place) -> Stream:
        if place.path not in self._data:
            raise PermissionError(13, "Permission denied", place.path)
        self.opened.append(place.path)
        out, into = os.pipe()
        os.write(into, self._data[place.path])
        os.close(into)
        os.set_blocking(out, False)
        return stream_of(place, out)

    @property
    def machine(self) -> wiring.PaceMachine:
        return wiring.PaceMachine(open_archive(CAPTURE, lambda: None), lambda: look(CAPTURE).snapshot, self.open)


@pytest.fixture
def kilohertz() -> Bus:
    return Bus({"/dev/input/event3": moves(range(0, 500_000, 1000)) + moves(range(700_000, 1_200_000, 1000))})


def test_an_id_leads_to_its_event_device_and_to_the_promise_of_its_descriptor(kilohertz: Bus) -> None:
    beats: list[Beat] = []
    found = wiring.pace("1-1", 30, tell=beats.append, machine=kilohertz.machine)
    assert kilohertz.opened == ["/dev/input/event3"]
    assert (found.path, found.name) == ("/dev/input/event3", "Lab Lab joystick 1 kHz")
    assert (found.reports, found.promised_ms, found.verdict) == (1000, 1.0, "gaps")
    assert [gap.ms for gap in found.gaps] == [201]
    assert sum(len(beat.intervals) for beat in beats) == 999
    assert "left the bus" in found.notes[0]


def test_a_device_with_a_slower_endpoint_is_promised_less() -> None:
    found = wiring.pace("1-2", 30, machine=Bus({"/dev/input/event4": moves(range(0, 2_000_000, 8000))}).machine)
    assert (found.promised_ms, found.verdict) == (8.0, "steady")
    assert found.observations == {"report_rate": "as_promised", "report_gap_ms": 8.0}


def test_the_raw_way_is_taken_where_it_is_the_only_one() -> None:
    found = wiring.pace("1-1", 30, machine=Bus({"/dev/hidraw0": b"\x01\x02\x03"}).machine)
    assert (found.path, found.opened, found.verdict) == ("/dev/hidraw0", True, "no_reports")


def test_what_may_not_be_read_is_told_with_the_narrow_right_that_would_help() -> None:
    found = wiring.pace("1-1", 30, machine=Bus({}).machine)
    assert (found.opened, found.reports, found.gaps, found.verdict) == (False, 0, (), "no_reports")
    assert found.notes


@pytest.mark.parametrize("device", ["1-9", "usb7", "2-3.4"])
def test_a_device_that_is_not_there_gives_a_document_that_says_so(device: str) -> None:
    found = wiring.pace(device, 30, machine=Bus({}).machine)
    assert not found.opened
    assert device in found.notes[0]


@pytest.mark.parametrize("device", ["", "mouse", "/dev/sda", "/etc/passwd", "1-1:1.0", "../../dev/input/event3"])
def test_anything_else_is_refused_with_how_to_name_a_device(device: str) -> None:
    with pytest.raises(BadInputError, match="eventN"):
        wiring.pace(device, 30, machine=Bus({}).machine)


def test_every_way_to_read_a_device_is_listed_with_whether_it_may_be_read(kilohertz: Bus) -> None:
    snapshot = look(CAPTURE).snapshot
    ways = wiring.pace_devices(snapshot, kilohertz.machine)
    assert {(way.device, way.kind) for way in ways} >= {("1-1", "event"), ("1-1", "hidraw"), ("1-2", "event")}
    assert all(way.readable or way.why for way in ways)
