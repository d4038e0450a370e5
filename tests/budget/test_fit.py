"""How many more of a kind fit, where best, and what stops the next one."""

from collections.abc import Callable

from builders import controller, device, hub, interrupt, iso, root, snapshot

from wizard.budget.described import Described, Host, HubMade, described
from wizard.budget.fit import does_it_fit
from wizard.budget.kinds import DeviceKind, load_kinds
from wizard.budget.replug import Add
from wizard.budget.setup import Setup
from wizard.budget.what_if import Bench
from wizard.bus.model import Device, Socket
from wizard.store import resources

KINDS = {k.id: k for k in load_kinds(resources.kind_tables())}


def bench(setup: Setup | None = None, translator: str = "single") -> Bench:
    sockets = [Socket(id=f"1-1.{i}", hub="1-1") for i in range(1, 5)]
    return Bench.of(snapshot(controller(), root(ports=1), hub("1-1", translator=translator), *sockets), setup)


def plug(one: Device) -> Callable[[str], Add]:
    return lambda socket: Add(one, socket)


def kind(name: str) -> Callable[[str], Add]:
    wanted: DeviceKind = KINDS[name]
    return lambda socket: wanted.to_plug(socket, "One more")


def of(at: Described) -> Bench:
    return Bench.of(at.snapshot, at.setup)


def test_a_shared_translator_holds_one_big_stream_and_a_multi_translator_hub_four() -> None:
    """A 1023-byte stream takes 806 of 900 us (row bt-lx-fs-in-iso-1023)."""
    stream = device("x", "full", 100, iso(1023))
    single = does_it_fit(bench(), plug(stream))
    assert (single.certain.count, {e.where for e in single.certain.blocked_by}) == (1, {"1-1/tt"})
    multi = does_it_fit(bench(translator="multi"), plug(stream))
    assert (multi.certain.count, multi.certain.blocked_by) == (4, ())


def test_a_weak_supply_stops_the_third_hungry_device() -> None:
    fit = does_it_fit(bench(Setup(supplies_ma={"1-1": 1000})), plug(device("x", "high", 500)))
    assert (fit.certain.count, [e.budget for e in fit.certain.blocked_by]) == (2, ["hub_supply"])


def test_a_count_that_hangs_on_an_unknown_limit_is_told_for_both_ends_with_what_settles_it() -> None:
    """16 endpoints each, the hub has 1: 3 make 49 and 4 make 65, which is over 64 and far below 254 (rows older-64 and
    v254)."""
    many = tuple(interrupt(8, 8000, 0x81 + i) for i in range(15))
    fit = does_it_fit(bench(), plug(device("x", "full", 10, *many)))
    assert (fit.certain.count, fit.perhaps.count) == (3, 4)
    assert [(e.budget, e.settles) for e in fit.depends_on] == [("endpoints", "controller_kind")]


def test_a_told_limit_leaves_nothing_open() -> None:
    many = tuple(interrupt(8, 8000, 0x81 + i) for i in range(15))
    told = Setup(endpoint_limit={"0000:00:14.0": 254}, slot_limit={"0000:00:14.0": 64})
    fit = does_it_fit(bench(told), plug(device("x", "full", 10, *many)))
    assert (fit.certain.count, fit.perhaps, fit.depends_on) == (4, fit.certain, ())


def test_a_supply_of_unknown_rating_is_told_and_forbids_nothing() -> None:
    fit = does_it_fit(bench(), plug(device("x", "high", 500)))
    assert (fit.certain.count, [(e.budget, e.settles) for e in fit.not_known]) == (4, [("hub_supply", "hub_supply_ma")])


def test_sockets_with_known_limits_come_before_those_of_a_hub_of_unknown_supply() -> None:
    sockets = (Socket(id="1-1.1", hub="1-1"), Socket(id="1-2", hub="usb1"))
    at = Bench.of(snapshot(controller(), root(ports=2), hub("1-1"), *sockets))
    assert does_it_fit(at, plug(device("x", "low", 100))).certain.sockets == ("1-2", "1-1.1")


def test_the_best_socket_is_the_one_with_most_room() -> None:
    """A sound interface sits behind the hub already: the next one is better off straight at the host."""
    at = described([Host(usb2=2)]).with_hub("1-1", HubMade(ports=4), "A hub")
    at = at.with_device("1-1.1", KINDS["sound_stereo"], "Sound")
    assert does_it_fit(of(at), kind("sound_stereo"), most=1).certain.sockets == ("1-2",)


def test_a_fast_drive_prefers_a_fast_socket_and_is_slower_in_the_others() -> None:
    fit = does_it_fit(of(described([Host(usb2=1, usb3=1)])), kind("memory_stick_fast"), most=4)
    assert (fit.certain.sockets, fit.certain.slower) == (("2-1", "1-2"), ("1-2",))


def test_a_usb_3_hub_brings_sockets_for_the_next_one() -> None:
    at = described([Host(usb3=1)])
    after = of(at).tried(KINDS["hub_4_usb3"].to_plug("1-1", "A hub"))
    assert {s.id for s in after.snapshot.sockets if "." in s.id} == {f"{b}-1.{p}" for b in (1, 2) for p in range(1, 5)}


def test_what_was_overdrawn_before_does_not_forbid_what_does_not_add_to_it() -> None:
    """Two streams share the translator and overdraw it; a stick elsewhere changes nothing there."""
    at = described([Host(usb2=2)]).with_hub("1-1", HubMade(ports=2), "A hub")
    crowded = snapshot(
        *at.snapshot.controllers, *at.snapshot.sockets, *at.snapshot.devices,
        device("1-1.1", "full", 100, iso(1023)), device("1-1.2", "full", 100, iso(1023)),
    )  # fmt: skip
    fit = does_it_fit(Bench.of(crowded), kind("stick"))
    assert (fit.certain.count, fit.certain.sockets, fit.certain.blocked_by) == (1, ("1-2",), ())


def test_no_free_socket_is_no_fit_and_no_fault() -> None:
    full = described([Host(usb2=1)]).with_device("1-1", KINDS["mouse"], "A mouse")
    assert does_it_fit(of(full), kind("mouse")).certain.model_dump() == {
        "count": 0, "sockets": (), "slower": (), "blocked_by": (),
    }  # fmt: skip
