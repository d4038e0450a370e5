"""The best arrangement against trying them all, and what it promises on desks of our own."""

from typing import Any

import pytest
from bench.instances import make_desk
from builders import controller, device, hub, interrupt, iso, root, snapshot
from hypothesis import given, settings
from small_desks import FOREVER, best_cost, cost, fast_desks, nested_desks, small_desks, sound

from wizard.budget.setup import Setup
from wizard.bus.model import Snapshot, Socket
from wizard.plan.arrange.bound import least_to_move
from wizard.plan.arrange.clock import Clock
from wizard.plan.arrange.desk import Desk, survey
from wizard.plan.arrange.pursuit import Blocked, Found
from wizard.plan.arrange.search import search


def agrees(made: tuple[Snapshot, Setup]) -> None:
    desk = survey(*made)
    best = best_cost(desk)
    found = search(desk, "greatest", FOREVER)
    if best is None:
        assert isinstance(found, Blocked)
        assert found.names
        return
    assert isinstance(found, Found)
    assert found.proven
    assert sound(desk, found.arrangement)
    assert cost(desk, found.arrangement) == best


@settings(max_examples=60)
@given(small_desks())
def test_agrees_with_trying_every_arrangement(made: tuple[Snapshot, Setup]) -> None:
    agrees(made)


@settings(max_examples=40, deadline=None)
@given(nested_desks())
def test_agrees_where_hubs_may_go_onto_hubs(made: tuple[Snapshot, Setup]) -> None:
    agrees(made)


@settings(max_examples=40, deadline=None)
@given(fast_desks())
def test_agrees_where_sockets_and_hubs_have_two_halves(made: tuple[Snapshot, Setup]) -> None:
    agrees(made)


def desk(*parts: Any, told: Setup | None = None, ports: int = 4) -> Desk:
    sockets = [Socket(id=f"1-{i}", hub="usb1", place="rear" if i < 3 else "front") for i in range(1, ports + 1)]
    return survey(snapshot(controller(), root(ports=ports), *sockets, *parts), told or Setup())


def moves(found: object) -> dict[str, str]:
    assert isinstance(found, Found)
    return {p: found.arrangement[p] for p in found.moved}


CROWDED = (
    hub("1-1"),
    *(Socket(id=f"1-1.{i}", hub="1-1") for i in range(1, 5)),
    device("1-1.1", "full", 100, iso(1023), serial="A"),
    device("1-1.2", "full", 100, iso(1023)),
)


def test_one_of_two_streams_leaves_the_shared_translator_and_it_is_the_one_the_system_knows_again() -> None:
    assert set(moves(search(desk(*CROWDED), "greatest", FOREVER))) == {"1-1.1"}


def test_a_desk_that_holds_is_left_alone() -> None:
    assert moves(search(desk(device("1-1", "high", 500)), "greatest", FOREVER)) == {}


def test_pinned_plugs_stay() -> None:
    found = search(desk(*CROWDED, told=Setup(pinned=("1-1.1",))), "greatest", FOREVER)
    assert set(moves(found)) == {"1-1.2"}


def test_a_device_that_reaches_only_the_front_goes_to_the_front() -> None:
    found = search(desk(*CROWDED, told=Setup(pinned=("1-1.2",), reach={"1-1.1": ("front",)})), "greatest", FOREVER)
    assert set(moves(found).values()) <= {"1-3", "1-4"}


def test_a_keyboard_is_left_alone() -> None:
    board = device("1-1.1", "full", 100, iso(1023))
    board = board.model_copy(
        update={"interfaces": (board.interfaces[0].model_copy(update={"class_code": 3, "protocol": 1}),)}
    )
    found = search(desk(*CROWDED[:5], board, device("1-1.2", "full", 100, iso(1023))), "greatest", FOREVER)
    assert set(moves(found)) == {"1-1.2"}


def test_devices_to_keep_apart_end_on_different_strips() -> None:
    parts = (device("1-1", "full", 100), device("1-2", "full", 100))
    found = search(desk(*parts, told=Setup(apart=(("1-1", "1-2"),))), "greatest", FOREVER)
    assert len(moves(found)) == 1
    assert set(moves(found).values()) <= {"1-3", "1-4"}


def test_what_can_not_be_helped_names_the_budgets_that_clash() -> None:
    """Two streams of 806 us each, one hub, no free socket on the PC."""
    found = search(desk(*CROWDED, ports=1), "greatest", FOREVER)
    assert isinstance(found, Blocked)
    assert "periodic_time@1-1/tt" in found.names


def test_the_same_desk_gives_the_same_plan() -> None:
    assert moves(search(desk(*CROWDED), "greatest", FOREVER)) == moves(search(desk(*CROWDED), "greatest", FOREVER))


@pytest.mark.parametrize("clock", [Clock(lambda: 0.0), Clock(lambda: 60.0, stop=lambda: True)])
def test_no_time_or_a_stop_is_no_answer(clock: Clock) -> None:
    assert not isinstance(search(desk(*CROWDED), "greatest", clock), Found | Blocked)


def test_a_slower_device_straight_on_the_pc_takes_no_time_of_the_high_speed_bus() -> None:
    """Slow devices behind hubs fill the fast bus with splits; straight on the PC they go by translators of its own."""
    strips = [hub(f"1-{n}", translator="multi", ports=7) for n in (1, 2, 3)]
    places = [Socket(id=f"1-{n}.{i}", hub=f"1-{n}") for n in (1, 2, 3) for i in range(1, 8)]
    crowd = [device(f"1-{n}.{i}", "full", 10, iso(188, address=0x81)) for n in (1, 2, 3) for i in range(1, 8)]
    fast = [
        device("1-4", "high", 100, iso(1024, 125, transactions=3)),
        device("1-5", "high", 100, interrupt(512, 125)),
    ]
    full = desk(*strips, *places, *crowd, *fast, ports=12)
    found = search(full, "greatest", FOREVER)
    assert isinstance(found, Found)
    assert found.moved
    assert found.proven
    back = {**found.arrangement, found.moved[0]: full.plugs[found.moved[0]].at}
    assert sound(full, found.arrangement)
    assert not sound(full, back)


@pytest.mark.parametrize("number", [1, 2, 3])
def test_the_order_of_the_lists_changes_nothing(number: int) -> None:
    """The same input gives the same plan wherever it is proven; a system may list things in any order."""
    seen, told = make_desk(2, 4, 22, seed=number)
    mixed = seen.model_copy(
        update={name: tuple(reversed(getattr(seen, name))) for name in ("controllers", "sockets", "devices")}
    )
    supplies = dict(reversed(told.supplies_ma.items()))
    first = search(survey(seen, told), "greatest", FOREVER)
    again = search(survey(mixed, told.model_copy(update={"supplies_ma": supplies})), "greatest", FOREVER)
    assert isinstance(first, Found)
    assert isinstance(again, Found)
    assert first.proven
    assert dict(first.arrangement) == dict(again.arrangement)
    assert first.ledger == again.ledger


@pytest.mark.parametrize("asks", [1, 3, 10, 30])
def test_a_search_ends_soon_after_it_is_called_off(asks: int) -> None:
    """However far it has come: every step of it asks whether to stop."""
    seen, told = make_desk(4, 20, 60)
    asked = 0

    def stop() -> bool:
        nonlocal asked
        asked += 1
        return asked > asks

    found = search(survey(seen, told), "greatest", Clock(lambda: 60.0, stop))
    assert not isinstance(found, Found) or not found.proven
    assert asked < asks + 60


def test_the_bound_that_is_stated_where_time_runs_out_is_not_more_than_the_truth() -> None:
    """With no time left after the bound, what is known is how many moves it takes at least."""
    seen, told = make_desk(4, 20, 60)
    whole = survey(seen, told)
    least = least_to_move(whole, "greatest", whole.movable, FOREVER)
    proven = search(whole, "greatest", FOREVER)
    assert isinstance(proven, Found)
    assert 0 < least.moves <= len(proven.moved)
    assert proven.at_least == len(proven.moved)


def test_devices_to_keep_together_end_on_one_strip() -> None:
    parts = (device("1-1", "full", 100), device("1-3", "full", 100))
    found = search(desk(*parts, told=Setup(together=(("1-1", "1-3"),))), "greatest", FOREVER)
    assert moves(found) in ({"1-1": "1-4"}, {"1-3": "1-2"})  # 1 and 2 are at the rear, 3 and 4 in front


FAST_PC = (
    controller(),
    root(1, ports=4),
    root(2, "super", ports=2),
    *(Socket(id=f"1-{i}", hub="usb1", peer=f"2-{i}") for i in (1, 2)),
    *(Socket(id=f"2-{i}", hub="usb2", peer=f"1-{i}") for i in (1, 2)),
    *(Socket(id=f"1-{i}", hub="usb1") for i in (3, 4)),
)
STRIP = (hub("1-3"), *(Socket(id=f"1-3.{i}", hub="1-3") for i in range(1, 4)))


@pytest.mark.parametrize(("needs", "places"), [("usb3", {"1-1", "1-2"}), ("usb2", {"1-1", "1-2", "1-4"})])
def test_a_device_goes_where_its_generation_is_served(needs: str, places: set[str]) -> None:
    streams = [device(f"1-3.{i}", "full", 100, iso(1023), serial="S") for i in (1, 2)]
    told = Setup(needs={"1-3.1": needs}, pinned=("1-3.2",))
    found = search(survey(snapshot(*FAST_PC, *STRIP, *streams), told), "greatest", FOREVER)
    assert set(moves(found)) == {"1-3.1"}
    assert set(moves(found).values()) <= places


def test_the_two_halves_of_a_socket_are_one_place() -> None:
    """A fast device in one half leaves no room for a slow one in the other."""
    fast = [device(f"2-{i}", "super", 100, serial=f"F{i}") for i in (1, 2)]
    streams = [device(f"1-3.{i}", "full", 100, iso(1023), serial=f"S{i}") for i in (1, 2)]
    found = search(survey(snapshot(*FAST_PC, *STRIP, *fast, *streams), Setup()), "greatest", FOREVER)
    assert set(moves(found).values()) == {"1-4"}


def test_six_hubs_in_a_row_become_five_at_most() -> None:
    """USB 2.0 §4.1.1: five hubs between root and device."""
    names = ["1-1" + ".1" * depth for depth in range(6)]
    chain = [part for name in names for part in (hub(name, ports=2), Socket(id=f"{name}.2", hub=name))]
    found = search(desk(*chain), "greatest", FOREVER)
    assert isinstance(found, Found)
    assert found.proven
    assert len(found.moved) == 1
    assert not [e for e in found.ledger if e.budget == "hub_depth" and e.state == "over"]


def test_sockets_that_share_a_feed_are_not_asked_for_more_than_it_gives() -> None:
    sockets = [Socket(id=f"1-{i}", hub="usb1", group="left" if i < 3 else "right") for i in range(1, 5)]
    hungry = [device(f"1-{i}", "high", 400, serial="S") for i in (1, 2)]
    told = Setup(group_ma={"left": 500.0, "right": 500.0})
    found = search(survey(snapshot(controller(), root(ports=4), *sockets, *hungry), told), "greatest", FOREVER)
    assert len(moves(found)) == 1
    assert set(moves(found).values()) <= {"1-3", "1-4"}
