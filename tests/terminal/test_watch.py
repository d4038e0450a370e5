"""`portmend watch`: lines for people or programs, the summary, the exit code."""

import json
import os
import signal
import sys
from typing import Any

import pytest

from wizard import wiring
from wizard.bus.watching import Marked, Together, WatchEvent, WatchSummary
from wizard.terminal import watch

CAME = WatchEvent(t=1.5, kind="connect", where="1-2", text="plugged \x1b[31min", name="pe\u202edal")
FELL = WatchEvent(t=2.5, kind="disconnect", where="1-2", text="gone", count=7)


@pytest.fixture
def happens(monkeypatch: pytest.MonkeyPatch) -> Any:
    """What a watch of this bus sees, instead of a real one."""

    def _happens(*events: WatchEvent, **summary: Any) -> None:
        def stand_in(stop: Any, tell: Any, **asked: Any) -> WatchSummary:
            if summary.get("has_bus", True):
                asked["begun"]()
            for event in events:
                tell(event)
            counts = {e.kind: e.count for e in events}
            return WatchSummary(events=events, by_kind=counts, seconds=asked["seconds"] or 9.0, **summary)

        monkeypatch.setattr(wiring, "watch", stand_in)

    return _happens


def test_programs_get_one_event_a_line_and_the_summary_last(call: Any, happens: Any) -> None:
    happens(CAME, FELL)
    code, screen = call("watch", "--json", "--for", "3")
    first, second, last = (json.loads(line) for line in screen.text.splitlines())
    assert code == 0
    assert {k: first[k] for k in ("t", "kind", "where")} == {"t": 1.5, "kind": "connect", "where": "1-2"}
    assert second["count"] == 7
    assert last["schema"] == "portmend/watch/1"
    assert last["by_kind"] == {"connect": 1, "disconnect": 7}
    assert last["seconds"] == 3


def test_people_get_lines_without_tricks_and_what_it_amounts_to(call: Any, happens: Any) -> None:
    group = Together(t=2.5, where="1-4", what="hub", devices=("1-4.1", "1-4.2"))
    happens(CAME, FELL, together=(group,), marked=(Marked(t=3.0, before=(FELL,)), Marked(t=9.0)), notes=("less seen",))
    code, screen = call("watch")
    assert code == 0
    assert "\x1b" not in screen.text
    assert "\u202e" not in screen.text
    assert "1-2 (pe\\u202edal)  connect: plugged" in screen.text
    assert "[7 times]" in screen.text
    assert "8 events" in screen.text
    assert "At 1-2 (pe\\u202edal): connect (1), disconnect (7)." in screen.text
    assert "1-4.1, 1-4.2 left together; they share the hub 1-4" in screen.text
    assert "0.50 s earlier  1-2  disconnect: gone" in screen.text
    assert "nothing was seen" in screen.text
    assert "less seen" in screen.notes


def test_a_hub_that_left_is_told_as_such(call: Any, happens: Any) -> None:
    happens(together=(Together(t=1.0, where="1-4", what="hub", devices=("1-4.1",), hub_left=True),))
    assert "1-4 left and took along 1-4.1" in call("watch")[1].text


def test_what_stands_out_ends_with_1_and_no_bus_with_3(call: Any, happens: Any) -> None:
    happens(FELL, stands_out=True)
    assert call("watch", "--for", "1")[0] == 1
    happens(has_bus=False, notes=("No USB bus was found here.",))
    code, screen = call("watch", "--json")
    assert code == 3
    assert json.loads(screen.text)["events"] == []
    assert screen.notes.count("No USB bus") == 1


def test_without_a_bus_it_is_said_that_nothing_was_watched_and_nothing_else(call: Any, happens: Any) -> None:
    happens(has_bus=False, notes=("No USB bus was found here.",))
    code, screen = call("watch", "--for", "3")
    assert (code, screen.text) == (3, "")
    assert screen.notes == "Nothing could be watched. No USB bus was found here.\n"


def test_with_a_bus_it_is_said_first_how_long_it_goes_on(call: Any, happens: Any) -> None:
    happens(CAME)
    assert "it ends after 3 s" in call("watch", "--for", "3")[1].text.splitlines()[0]


@pytest.mark.parametrize("seconds", ["0", "-1", "soon", "nan", "1e9", ""])
def test_a_wrong_time_is_one_line_and_2(call: Any, seconds: str) -> None:
    code, screen = call("watch", "--for", seconds)
    assert code == 2
    assert screen.text == ""
    assert "not a number of seconds" in screen.notes


def test_ctrl_c_ends_the_watch_and_the_summary_still_comes(call: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    def until_stopped(stop: Any, tell: Any, **_asked: Any) -> WatchSummary:
        assert not stop()
        signal.raise_signal(signal.SIGINT)
        assert stop()
        return WatchSummary()

    monkeypatch.setattr(wiring, "watch", until_stopped)
    before = signal.getsignal(signal.SIGINT)
    code, screen = call("watch", "--json")
    assert code == 0
    assert "portmend/watch/1" in screen.text
    assert signal.getsignal(signal.SIGINT) is before


def test_without_a_keyboard_nobody_is_told_to_press_enter(call: Any, happens: Any) -> None:
    happens()
    assert "Enter" not in call("watch")[1].text
    assert "Enter" in watch._opening(None, can_mark=True)


@pytest.mark.skipif(sys.platform == "win32", reason="there the keyboard is asked itself")
def test_enter_is_noticed_once_and_a_keyboard_that_is_gone_marks_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    reading, writing = os.pipe()
    with os.fdopen(reading) as keyboard:
        monkeypatch.setattr(sys, "stdin", keyboard)
        assert not watch._enter_pressed()
        os.write(writing, b"\n")
        assert watch._enter_pressed()
        assert not watch._enter_pressed()
        os.close(writing)
        assert not watch._enter_pressed()
