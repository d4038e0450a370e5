"""What a watch settles, and what it does not."""

from wizard.bus.model import Controller, Device, Hub, Snapshot
from wizard.bus.watching import WatchEvent, WatchSummary
from wizard.diagnosis.watching import Chronicle

BUS = Snapshot(
    controllers=(Controller(id="0000:00:14.0", kind="xhci"),),
    devices=(
        Device(id="usb1", parent="0000:00:14.0", root=True, hub=Hub(ports=8)),
        Device(id="1-1", parent="usb1"),
        Device(id="1-2", parent="usb1"),
        Device(id="1-4", parent="usb1", hub=Hub(ports=4)),
        Device(id="1-4.1", parent="1-4"),
        Device(id="1-4.2", parent="1-4"),
        Device(id="1-4.3", parent="1-4"),
    ),
)


def summary(*events: tuple[float, str, str], subject: tuple[str, ...] = (), seconds: float = 60.0) -> WatchSummary:
    chronicle = Chronicle(BUS, subject)
    for t, kind, where in events:
        chronicle.add(WatchEvent(t=t, kind=kind, where=where))
    return chronicle.summary(seconds)


def drops(where: str, *times: float, away: float = 0.4) -> list[tuple[float, str, str]]:
    return [event for t in times for event in ((t, "disconnect", where), (t + away, "connect", where))]


def in_time(*events: tuple[float, str, str]) -> list[tuple[float, str, str]]:
    return sorted(events)


def test_a_quiet_watch_settles_nothing() -> None:
    found = summary()
    assert (found.events, found.by_kind, found.observations, found.stands_out) == ((), {}, {}, False)


def test_a_hand_that_plugs_and_unplugs_settles_nothing() -> None:
    found = summary(*drops("1-1", 5, 10, 15, away=2.5))
    assert found.observations == {}
    assert not found.stands_out
    assert found.by_kind == {"disconnect": 3, "connect": 3}


def test_a_device_back_sooner_than_a_hand_can_do_it_comes_and_goes() -> None:
    found = summary(*drops("1-4.1", 5, 30))
    assert found.stands_out
    assert found.observations["seen_by_system"] == "comes_and_goes"
    assert found.observations["recovery"] == "by_itself"
    assert found.observations["affected"] == "one_device"


def test_a_single_fall_is_told_and_settles_nothing() -> None:
    found = summary(*drops("1-4.1", 5))
    assert found.observations == {}
    assert not found.stands_out


def test_the_subject_is_what_the_observations_speak_of() -> None:
    assert "seen_by_system" not in summary(*drops("1-4.1", 5, 30), subject=("1-1",)).observations
    assert summary(*drops("1-4.1", 5, 30), subject=("1-4.1",)).observations["recovery"] == "by_itself"


def test_devices_of_one_hub_that_leave_together_without_it() -> None:
    found = summary(*in_time(*drops("1-4.1", 5), *drops("1-4.3", 5.2)), subject=("1-4.1",))
    (group,) = found.together
    assert (group.where, group.what, group.devices, group.hub_left) == ("1-4", "hub", ("1-4.1", "1-4.3"), False)
    assert found.observations["affected"] == "one_hub"
    assert found.stands_out


def test_a_hub_pulled_out_takes_its_devices_along_and_nothing_stands_out() -> None:
    found = summary((5, "disconnect", "1-4.1"), (5.1, "disconnect", "1-4.2"), (5.2, "disconnect", "1-4"))
    (group,) = found.together
    assert (group.where, group.hub_left, set(group.devices)) == ("1-4", True, {"1-4.1", "1-4.2"})
    assert "affected" not in found.observations
    assert not found.stands_out


def test_devices_of_several_hubs_share_the_controller() -> None:
    found = summary((5, "disconnect", "1-1"), (5.3, "disconnect", "1-4.2"))
    (group,) = found.together
    assert (group.where, group.what) == ("0000:00:14.0", "controller")
    assert found.observations["affected"] == "one_controller"


def test_far_apart_in_time_is_not_together() -> None:
    assert summary((5, "disconnect", "1-4.1"), (7, "disconnect", "1-4.2")).together == ()


def test_devices_that_no_look_knows_are_placed_by_their_ids() -> None:
    found = summary((5, "disconnect", "9-3.1"), (5.1, "disconnect", "9-3.2"))
    assert (found.together[0].where, found.together[0].what) == ("9-3", "hub")


def test_a_trouble_of_the_log_stands_out_and_becomes_a_sign() -> None:
    found = summary((5, "over_current", "1-2"), (6, "over_current", "1-2"))
    assert found.stands_out
    (sign,) = found.signs
    assert (sign.kind, sign.where, sign.count) == ("over_current", "1-2", 2)


def test_power_lost_after_sleep_is_expected_and_without_it_not() -> None:
    assert summary((5, "power_lost", "usb1")).stands_out
    assert not summary((4, "system_slept", "-"), (5, "power_lost", "usb1")).stands_out


def test_falls_on_waking_up_say_when() -> None:
    events = [(4.0, "system_slept", "-"), *drops("1-1", 6), (80.0, "system_slept", "-"), *drops("1-1", 82)]
    assert summary(*events, subject=("1-1",)).observations["when"] == ("idle_or_resume",)
    assert "when" not in summary(*drops("1-1", 6, 82), subject=("1-1",)).observations


def test_what_came_before_a_mark_is_shown_nearest_first() -> None:
    found = summary((1, "reset", "1-1"), (15, "reset", "1-2"), (18, "disconnect", "1-2"), (20, "mark", "-"))
    (marked,) = found.marked
    assert marked.t == 20
    assert [(e.t, e.kind) for e in marked.before] == [(18, "disconnect"), (15, "reset")]


def test_very_many_events_are_counted_all_and_kept_in_part() -> None:
    chronicle = Chronicle()
    for n in range(30_000):
        chronicle.add(WatchEvent(t=n, kind="reset", where=f"1-{n}"))
    found = chronicle.summary(30_000)
    assert found.by_kind == {"reset": 30_000}
    assert len(found.events) == 10_000
    assert len(found.signs) <= 4_097
    assert sum(s.count for s in found.signs) == 30_000
    assert "30000" in found.notes[-1]


def test_kinds_that_this_version_does_not_know_are_kept() -> None:
    found = summary((1, "something_new", "1-1"))
    assert found.by_kind == {"something_new": 1}
    assert not found.stands_out
