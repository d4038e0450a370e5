"""A watch ends in a case: open observations filled, signs that count, nothing the user said overwritten."""

import pytest

from wizard import wiring
from wizard.bus.model import Device, Snapshot
from wizard.bus.sign import Sign
from wizard.bus.watching import WatchEvent, WatchSummary
from wizard.case.model import Case
from wizard.observe.watch import Followed
from wizard.wiring import watching

OVER = Sign(kind="over_current", where="1-2", count=3)


def test_what_is_open_is_filled_and_what_the_user_said_stands() -> None:
    case = Case(symptom="dropout", observations={"recovery": "replug", "affected": "unknown"})
    found = {"recovery": "by_itself", "affected": "one_hub", "seen_by_system": "comes_and_goes"}
    filled = wiring.with_watch(case, WatchSummary(observations=found))
    assert filled.observations == {"recovery": "replug", "affected": "one_hub", "seen_by_system": "comes_and_goes"}


def test_signs_count_with_those_of_the_log_and_once() -> None:
    log = "[1.0] usb usb1-port2: over-current change #1\n"
    case = Case(symptom="dropout", log=log)
    assert [(s.kind, s.where) for s in wiring.look_of(case).signs] == [("over_current", "1-2")]
    watched = wiring.with_watch(case, WatchSummary(signs=(OVER,), stands_out=True))
    (sign,) = wiring.look_of(watched).signs
    assert sign.count == 3


def test_comings_and_goings_of_a_quiet_watch_leave_a_case_as_it_was() -> None:
    case = Case(symptom="dropout")
    assert wiring.with_watch(case, WatchSummary(signs=(Sign(kind="connect", where="1-1"),))) == case


def test_a_case_keeps_what_was_watched_through_saving() -> None:
    case = wiring.with_watch(Case(symptom="dropout"), WatchSummary(signs=(OVER,), stands_out=True))
    assert Case.model_validate_json(case.model_dump_json(by_alias=True)) == case


def test_an_over_current_seen_in_a_watch_moves_the_causes() -> None:
    services = wiring.load_services()
    case = Case(symptom="dropout")
    watched = wiring.with_watch(case, WatchSummary(signs=(OVER,), stands_out=True))
    before = {cause.id: cause.share for cause in wiring.advise(services, case).causes}
    after = {cause.id: cause.share for cause in wiring.advise(services, watched).causes}
    assert after["over_current"] > 3 * before["over_current"]


def test_watch_tells_and_sums_up(monkeypatch: pytest.MonkeyPatch) -> None:
    event = WatchEvent(t=1.0, kind="connect", where="1-1")

    def follow(stop: object, tell: object, *_more: object, **_named: object) -> Followed:
        tell(event)  # type: ignore[operator]  # terse stand-in
        return Followed(2.0, True, ("a note",))

    monkeypatch.setattr(watching, "follow", follow)
    heard: list[WatchEvent] = []
    snapshot = Snapshot(devices=(Device(id="1-1"),))
    summary = wiring.watch(lambda: False, heard.append, snapshot=snapshot)
    assert heard == [event]
    assert (summary.events, summary.seconds, summary.notes) == ((event,), 2.0, ("a note",))


def test_a_watch_that_is_stopped_before_it_began_is_empty() -> None:
    assert wiring.watch(lambda: True, lambda _event: None).events == ()
