"""By whatever ways news arrives, each coming and going is told once, and none is left out."""

import random

import pytest

from wizard.observe.watch_log import LogNews
from wizard.observe.watch_polling import Present
from wizard.observe.watch_presence import Presence
from wizard.observe.watch_uevents import BusNews


class Hearing:
    """A presence with a clock to set, and everything that was told."""

    def __init__(self, **roll: int) -> None:
        self.t = 0.0
        self.presence = Presence({name: Present(address) for name, address in roll.items()}, lambda: self.t)
        self.told: list[tuple[str, int | None]] = []

    def bus(self, kind: str, address: int | None) -> None:
        self.told += [(c.kind, c.address) for c in self.presence.hear(BusNews(kind, "1-1", address))]

    def log(self, kind: str, address: int) -> None:
        if self.presence.hear_log(LogNews(kind, "1-1", "", None, address)):
            self.told.append((kind, address))

    def look(self, **roll: int) -> None:
        names = {name.replace("_", "-"): Present(address) for name, address in roll.items()}
        self.told += [(c.kind, c.address) for c in self.presence.look(names)]


def test_event_and_log_of_the_same_coming_are_one() -> None:
    for first, second in (("bus", "log"), ("log", "bus")):
        hearing = Hearing()
        getattr(hearing, first)("connect", 5)
        getattr(hearing, second)("connect", 5)
        assert hearing.told == [("connect", 5)]


def test_an_address_that_comes_again_is_told_again() -> None:
    hearing = Hearing()
    for _ in range(3):
        hearing.log("connect", 5)
        hearing.bus("connect", 5)
        hearing.bus("disconnect", 5)
        hearing.log("disconnect", 5)
    assert hearing.told == [("connect", 5), ("disconnect", 5)] * 3


def test_what_a_look_has_found_is_not_told_again_when_its_event_comes_late() -> None:
    hearing = Hearing()
    hearing.look(**{"1_1": 6})
    hearing.bus("connect", 6)
    hearing.bus("disconnect", 5)  # of the one before: old news
    assert hearing.told == [("connect", 6)]
    hearing.look()
    hearing.bus("disconnect", 6)
    assert hearing.told == [("connect", 6), ("disconnect", 6)]


def test_a_lost_event_is_made_up_for_by_the_next_look() -> None:
    hearing = Hearing()
    hearing.bus("connect", 5)
    hearing.look(**{"1_1": 9})
    assert hearing.told == [("connect", 5), ("disconnect", 5), ("connect", 9)]


def test_a_coming_without_the_going_before_it_tells_both() -> None:
    hearing = Hearing()
    hearing.bus("connect", 5)
    hearing.bus("connect", 6)
    assert hearing.told == [("connect", 5), ("disconnect", 5), ("connect", 6)]


def test_attempts_that_only_the_log_tells_of_are_told_each() -> None:
    hearing = Hearing()
    for address in (6, 7, 8):
        hearing.log("connect", address)
    assert hearing.told == [("connect", 6), ("connect", 7), ("connect", 8)]
    hearing.look()
    assert len(hearing.told) == 3


def test_after_a_loss_one_way_may_not_hide_what_the_other_tells() -> None:
    hearing = Hearing()
    for _ in range(4):
        hearing.bus("connect", 5)
        hearing.bus("disconnect", 5)
    hearing.presence.even_out()
    hearing.log("connect", 5)
    assert hearing.told[-1] == ("connect", 5)


def test_over_current_by_event_and_by_look_is_one() -> None:
    t = Presence({"1-4": Present(2, over_current={"1-4.2": 0})}, lambda: 0.0)
    assert [c.kind for c in t.hear(BusNews("over_current", "1-4.2", count=1))] == ["over_current"]
    assert list(t.look({"1-4": Present(2, over_current={"1-4.2": 1})})) == []
    assert [c.count for c in t.look({"1-4": Present(2, over_current={"1-4.2": 3})})] == [2]


def test_memory_stays_flat_however_many_addresses_come() -> None:
    hearing = Hearing()
    for number in range(20_000):
        hearing.t = number / 100
        hearing.presence.hear_log(LogNews("connect", f"1-{number % 97}", "", None, number))
    assert len(hearing.presence._told) <= 4096
    hearing.t += 1000
    hearing.look()
    assert hearing.presence._told == {}


@pytest.mark.parametrize("seed", range(20))
def test_events_log_and_looks_in_any_order_tell_every_cycle_once(seed: int) -> None:
    """The log's line comes before its event or after it, looks come in between: each cycle is told, and once."""
    chance = random.Random(seed)
    hearing = Hearing()
    expected = []
    for number in range(60):
        address = number % 7 + 2
        for kind in ("connect", "disconnect"):
            ways = [hearing.log, hearing.bus]
            chance.shuffle(ways)
            for way in ways:
                way(kind, address)
            expected.append((kind, address))
            if chance.random() < 0.3:
                hearing.look(**({"1_1": address} if kind == "connect" else {}))
    assert hearing.told == expected
