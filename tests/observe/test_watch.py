"""Following the bus as a whole: events in time, marks, sleep, floods, losses, and an end when it is asked for."""

import gc
import os
import select
import time
import tracemalloc
from collections.abc import Iterator
from typing import Any

import pytest

from wizard.bus.model import Device, Snapshot
from wizard.bus.watching import WatchEvent
from wizard.observe.watch import follow
from wizard.observe.watch_anywhere import LookingFollower
from wizard.observe.watch_clock import Stopwatch
from wizard.observe.watch_flood import PER_SECOND, FloodGate
from wizard.observe.watch_follower import Happening
from wizard.observe.watch_linux import GIVEN_UP, NO_EVENTS, RAN_OVER, LinuxFollower
from wizard.observe.watch_polling import Present, Roll
from wizard.observe.watch_uevents import BusNews, Missed


class Scripted:
    """A follower that hands over what it is given, one step after the other."""

    has_bus = True
    notes: tuple[str, ...] = ()

    def __init__(self, *steps: list[Happening]) -> None:
        self.steps = list(steps)
        self.looked = 0
        self.closed = False

    def wait(self, seconds: float) -> None:
        assert seconds <= 0.1

    def look_soon(self) -> None:
        self.looked += 1

    def step(self) -> Iterator[Happening]:
        yield from self.steps.pop(0) if self.steps else []

    def close(self) -> None:
        self.closed = True


def run(follower: Any, **more: Any) -> list[WatchEvent]:
    told: list[WatchEvent] = []
    more.setdefault("stop", lambda: not follower.steps)
    follow(tell=told.append, make=lambda _watch: follower, **more)
    return told


def test_events_come_in_order_with_rising_times_and_the_follower_is_closed() -> None:
    follower = Scripted([Happening("connect", "1-1", "in")], [Happening("disconnect", "1-1", "out")])
    told = run(follower)
    assert [e.kind for e in told] == ["connect", "disconnect"]
    assert 0 <= told[0].t <= told[1].t
    assert follower.closed


def test_hostile_text_of_any_length_becomes_one_short_harmless_line() -> None:
    nasty = "\x1b[2J\u202e\n" + "A" * 1_000_000
    (event,) = run(Scripted([Happening("reset", "1-1" + "." * 9999, nasty, name=nasty)]))
    assert len(event.text) < 300
    assert len(event.where) < 100
    assert "\x1b" not in event.text + (event.name or "")
    assert event.text.isprintable()


def test_a_mark_is_an_event_of_the_user() -> None:
    marks = iter([False, True, False])
    told = run(Scripted([], [Happening("reset", "1-1", "x")], []), mark=lambda: next(marks, False))
    assert [(e.kind, e.by) for e in told] == [("reset", "bus"), ("mark", "user")]


def test_without_a_bus_it_ends_at_once() -> None:
    follower = Scripted([Happening("connect", "1-1", "in")])
    follower.has_bus = False
    begun: list[bool] = []
    followed = follow(
        lambda: False, lambda _event: None, make=lambda _watch: follower, begun=lambda: begun.append(True)
    )
    assert not followed.has_bus
    assert begun == []


def test_it_ends_after_its_seconds_and_tells_what_came_last() -> None:
    told: list[WatchEvent] = []
    follower = Scripted([], [Happening("connect", "1-1", "in")])
    followed = follow(lambda: False, told.append, seconds=0.0001, make=lambda _watch: follower)
    assert followed.seconds < 5.0
    assert follower.closed


def test_the_follower_is_closed_whatever_the_listener_does() -> None:
    follower = Scripted([Happening("connect", "1-1", "in")])

    def refuse(_event: WatchEvent) -> None:
        raise RuntimeError("listener")

    with pytest.raises(RuntimeError):
        follow(lambda: False, refuse, make=lambda _watch: follower)
    assert follower.closed


def test_sleep_is_time_that_passed_on_one_clock_alone() -> None:
    awake, whole = [100.0], [500.0]
    watch = Stopwatch(lambda: awake[0], lambda: whole[0])
    awake[0] += 5
    whole[0] += 5
    assert watch.slept() == 0.0
    awake[0] += 1
    whole[0] += 3601
    assert watch.slept() == 3600.0
    assert watch.slept() == 0.0
    assert watch.seconds() == 3606.0


def test_a_flood_is_told_as_some_and_a_number_with_the_last_one_last() -> None:
    gate = FloodGate()
    told: list[WatchEvent] = []
    for n in range(1000):
        kind = "connect" if n % 2 else "disconnect"
        told += gate.take(WatchEvent(t=n / 2000, kind=kind, where="1-1", text=str(n)))
    told += gate.due(1.0)
    assert len(told) == 2 * PER_SECOND + 2
    assert sum(e.count for e in told) == 1000
    assert [e.kind for e in told[-2:]] == ["disconnect", "connect"]
    assert told[-1].text == "999"


def test_a_flood_in_very_many_places_is_folded_too() -> None:
    gate = FloodGate()
    told = [e for n in range(50_000) for e in gate.take(WatchEvent(t=0.5, kind="reset", where=f"1-{n}"))]
    assert len(told) < 1000
    assert sum(e.count for e in (*told, *gate.rest())) == 50_000


class Ear:
    """Kernel events from a list; a Missed in it is a queue that ran over."""

    def __init__(self) -> None:
        self.queue: list[BusNews | type[Exception]] = []
        self._ends = os.pipe()

    def fileno(self) -> int:
        return self._ends[0]

    def waiting(self) -> Iterator[BusNews]:
        while self.queue:
            one = self.queue.pop(0)
            if isinstance(one, type):
                raise one
            yield one

    def close(self) -> None:
        for end in self._ends:
            os.close(end)


class Log:
    """A log from a list."""

    def __init__(self, *earlier: bytes) -> None:
        self._earlier = earlier
        self.lines: list[bytes] = []
        self.ended = self.has_lost = self.closed = False
        self._ends = os.pipe()

    def fileno(self) -> int:
        return self._ends[0]

    def earlier(self) -> Iterator[bytes]:
        yield from self._earlier

    def waiting(self) -> Iterator[bytes]:
        while self.lines:
            yield self.lines.pop(0)

    def lost(self) -> bool:
        lost, self.has_lost = self.has_lost, False
        return lost

    def close(self) -> None:
        self.closed = True
        for end in self._ends:
            os.close(end)


class Bus:
    """A listing to change at will, with a clock."""

    def __init__(self, **roll: int) -> None:
        self.t = 0.0
        self.roll: Roll | None = {"usb1": Present(1)}
        self.ear, self.log = Ear(), Log()
        self.on_look = lambda: None

    def take(self) -> Roll | None:
        self.on_look()
        return None if self.roll is None else dict(self.roll)

    def follower(self, **more: Any) -> LinuxFollower:
        given = {"events": lambda: self.ear, "log": lambda: self.log, **more}
        return LinuxFollower(lambda: self.t, Snapshot(devices=(Device(id="1-9", name="pedal"),)), self, **given)


def steps(follower: LinuxFollower) -> list[tuple[str, str, str]]:
    return [(h.kind, h.where, h.by) for h in follower.step()]


@pytest.fixture
def bus() -> Bus:
    return Bus()


def test_linux_tells_events_at_once_and_other_changes_at_the_next_look(bus: Bus) -> None:
    follower = bus.follower()
    bus.ear.queue = [BusNews("connect", "1-2", 5)]
    bus.roll = {"usb1": Present(1), "1-2": Present(5, 480.0, "active")}
    assert steps(follower) == [("connect", "1-2", "bus")]
    bus.t = 2.1
    assert steps(follower) == []
    bus.roll = {"usb1": Present(1), "1-2": Present(5, 12.0, "active")}
    bus.t = 4.2
    assert steps(follower) == [("speed_changed", "1-2", "look")]
    follower.close()


def test_what_a_queue_that_ran_over_swallowed_is_found_by_looking_at_once(bus: Bus) -> None:
    follower = bus.follower()
    bus.ear.queue = [BusNews("connect", "1-2", 5), Missed]
    bus.roll = {"usb1": Present(1), "1-3": Present(8)}
    assert steps(follower) == [("connect", "1-2", "bus"), ("disconnect", "1-2", "look"), ("connect", "1-3", "look")]
    assert RAN_OVER in follower.notes
    follower.close()


def test_a_look_during_which_something_was_told_does_not_count(bus: Bus) -> None:
    """It may be older than what was told: the device that has just come would be reported gone."""
    follower = bus.follower()
    bus.t = 2.1
    bus.on_look = lambda: bus.ear.queue.append(BusNews("connect", "1-2", 5))
    assert steps(follower) == [("connect", "1-2", "look")]
    bus.on_look = lambda: None
    bus.roll = {"usb1": Present(1), "1-2": Present(5)}
    assert steps(follower) == []
    follower.close()


def test_log_and_event_of_the_same_are_told_once_and_troubles_by_the_log(bus: Bus) -> None:
    follower = bus.follower()
    bus.log.lines = [
        b"[1.0] usb 1-2: new full-speed USB device number 5 using xhci_hcd",
        b"[1.5] usb 1-9: reset full-speed USB device number 4 using xhci_hcd",
    ]
    bus.ear.queue = [BusNews("connect", "1-2", 5)]
    happened = list(follower.step())
    assert [(h.kind, h.by, h.at) for h in happened] == [("connect", "log", "1.0"), ("reset", "log", "1.5")]
    assert happened[1].name == "pedal"
    follower.close()


def test_lines_lost_from_the_log_lead_to_a_look(bus: Bus) -> None:
    follower = bus.follower()
    bus.log.has_lost = True
    bus.roll = {"usb1": Present(1), "1-3": Present(8)}
    assert steps(follower) == [("connect", "1-3", "look")]
    follower.close()


def test_a_log_that_ends_is_let_go_and_said_once(bus: Bus) -> None:
    follower = bus.follower()
    bus.log.ended = True
    assert steps(follower) == steps(follower) == []
    assert bus.log.closed
    assert follower.notes.count(GIVEN_UP) == 1
    follower.close()


def test_without_events_it_looks_twice_a_second_and_says_so(bus: Bus) -> None:
    def refuse() -> Any:
        raise OSError("no netlink")

    follower = bus.follower(events=refuse, log=lambda: "no log here")
    assert follower.notes == (NO_EVENTS, "no log here")
    bus.roll = {"usb1": Present(1), "1-3": Present(8)}
    bus.t = 0.6
    assert steps(follower) == [("connect", "1-3", "look")]
    follower.close()


def test_a_bus_that_can_not_be_listed_for_a_moment_loses_nothing(bus: Bus) -> None:
    follower = bus.follower()
    bus.roll, bus.t = None, 2.1
    assert steps(follower) == []
    bus.roll, bus.t = {"usb1": Present(1), "1-3": Present(8)}, 4.2
    assert steps(follower) == [("connect", "1-3", "look")]
    follower.close()


@pytest.mark.skipif(not hasattr(select, "poll"), reason="Linux has it, and only Linux is followed so")
def test_waiting_ends_when_something_comes_and_else_with_its_time(bus: Bus) -> None:
    follower = bus.follower()
    began = time.monotonic()
    follower.wait(0.05)
    assert time.monotonic() - began >= 0.04
    os.write(bus.ear._ends[1], b"x")
    began = time.monotonic()
    follower.wait(30.0)
    assert time.monotonic() - began < 10.0
    follower.close()


def test_hours_of_plugging_take_no_more_memory(bus: Bus) -> None:
    follower = bus.follower()

    def cycles(count: int) -> None:
        for n in range(count):
            bus.t += 0.5
            bus.ear.queue = [BusNews("connect", "1-2", n % 120 + 2), BusNews("disconnect", "1-2", n % 120 + 2)]
            bus.log.lines = [b"[1.0] usb 1-2: USB disconnect, device number %d" % (n % 120 + 2)]
            for _ in follower.step():
                pass

    def held() -> int:
        gc.collect()
        return tracemalloc.get_traced_memory()[0]

    tracemalloc.start()
    try:
        cycles(600)
        before = held()
        cycles(1800)
        assert held() - before < 20_000
    finally:
        tracemalloc.stop()
        follower.close()


def test_elsewhere_looks_alone_tell() -> None:
    t = [0.0]
    rolls: list[Roll | None] = [{"1-1": Present(3)}, {"1-1": Present(4)}, None, {}]

    class Lister:
        def take(self) -> Roll | None:
            return rolls.pop(0)

    follower = LookingFollower(lambda: t[0], {"1-1": "pedal"}, Lister(), sleep=lambda _s: None)
    assert list(follower.step()) == []
    found = []
    for moment in (0.6, 1.2, 1.8):
        t[0] = moment
        found.append([(h.kind, h.where, h.by) for h in follower.step()])
    assert found == [[("disconnect", "1-1", "look"), ("connect", "1-1", "look")], [], [("disconnect", "1-1", "look")]]


def test_elsewhere_without_a_library_there_is_no_bus_and_a_reason() -> None:
    class Nothing:
        def take(self) -> Roll | None:
            return None

    follower = LookingFollower(lambda: 0.0, lister=Nothing())
    assert not follower.has_bus
    assert "libusb" in follower.notes[0]
