"""Controls through hidapi, with stand-ins: which may be read, which device they are, and reading one to its end."""

import pytest

from wizard.bus.errors import BadInputError
from wizard.bus.listing import Listing
from wizard.bus.model import Device, Snapshot
from wizard.observe.pace_hid import find_controls, follow_control


class Port:
    def __init__(self, *entries):
        self._entries = entries

    def listed(self):
        return self._entries


def entry(path=b"p1", usage=5, **more):
    return {"path": path, "vendor_id": 0x1234, "product_id": 0x5678, "usage_page": 1, "usage": usage,
            "interface_number": 0, "product_string": "Invented Pad", **more}  # fmt: skip


def bus(*devices):
    return Snapshot(devices=tuple(Device(id=i, vid="1234", pid="5678", listing=listing) for i, listing in devices))


def test_a_control_is_known_by_its_ids_where_only_one_has_them():
    (place,) = find_controls(bus(("1-4", None)), Port(entry()))
    assert (place.device, place.interface, place.name, place.kept) == ("1-4", 0, "Invented Pad", False)


def test_twins_are_told_apart_by_windows_own_name_or_not_at_all():
    twins = bus(
        ("1-4", Listing(parts=("HID\\VID_1234&PID_5678\\8&1&0&0000",))),
        ("1-5", Listing(parts=("HID\\VID_1234&PID_5678\\9&2&0&0000",))),
    )
    path = b"\\\\?\\HID#VID_1234&PID_5678#9&2&0&0000#{4d1e55b2-f16f-11cf-88cb-001111000030}"
    assert find_controls(twins, Port(entry(path)))[0].device == "1-5"
    assert find_controls(twins, Port(entry()))[0].device is None


@pytest.mark.parametrize("usage", [1, 2, 6, 7])
def test_mice_and_keyboards_are_kept_by_the_system(usage):
    assert find_controls(bus(("1-4", None)), Port(entry(usage=usage)))[0].kept


@pytest.mark.parametrize(
    "bad", [{}, {"path": None}, {"path": "text"}, entry(vendor_id=None), entry(interface_number=-1)]
)
def test_odd_entries_do_no_harm(bad):
    assert all(
        place.interface is None or place.device is None for place in find_controls(bus(("1-4", None)), Port(bad))
    )


class Hand:
    """A control that reports at given moments of a clock of its own."""

    def __init__(self, *reports, ends=None):
        self.reports = list(reports)
        self.time = 0.0
        self.ends = ends
        self.closed = False

    def now(self):
        return self.time

    def read(self, _max_length, timeout_ms=0):
        if self.ends is not None and self.time >= self.ends:
            raise OSError("read error")
        if self.reports and self.reports[0][0] <= self.time + timeout_ms / 1000:
            self.time, numbers = self.reports.pop(0)
            return numbers
        self.time += timeout_ms / 1000
        return []

    def close(self):
        self.closed = True


def followed(hand, seconds=1.0, **more):
    reports, ticks = [], []
    ended = follow_control(hand, seconds, reports.append, ticks.append, now=hand.now, **more)
    return reports, ticks, ended


def test_each_report_comes_with_its_time_and_whether_it_is_new():
    hand = Hand((0.1, [1, 2]), (0.2, [1, 2]), (0.3, [1, 3]))
    reports, ticks, (took, why) = followed(hand)
    assert [(r.at_us, r.same) for r in reports] == [(100_000, False), (200_000, True), (300_000, False)]
    assert (round(took), why, hand.closed) == (1, None, True)
    assert ticks


def test_a_control_that_leaves_ends_it_and_says_so():
    hand = Hand((0.1, [1]), ends=0.4)
    reports, _, (took, why) = followed(hand, 60.0)
    assert (len(reports), why, hand.closed) == (1, "left", True)
    assert took < 1.0


def test_a_wish_to_stop_is_heard():
    hand = Hand()
    assert followed(hand, 60.0, stop=lambda: hand.time > 0.3)[2][0] < 1.0


@pytest.mark.parametrize("seconds", [0, -1, float("nan"), 1e9])
def test_an_impossible_time_is_refused_and_the_control_let_go(seconds):
    hand = Hand()
    with pytest.raises(BadInputError):
        followed(hand, seconds)
    assert hand.closed
