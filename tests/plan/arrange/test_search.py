"""The best arrangement against trying them all, and what it promises on desks of our own."""

from collections.abc import Iterator, Mapping
from typing import Any

import pytest
from builders import controller, device, hub, interrupt, iso, root, snapshot
from hypothesis import given, settings
from hypothesis import strategies as st

from wizard.budget.ledger import build_ledger
from wizard.budget.periodic import TIME_BUDGETS
from wizard.budget.setup import Setup
from wizard.bus.model import Snapshot, Socket
from wizard.plan.arrange.desk import Desk, survey
from wizard.plan.arrange.layout import Layout
from wizard.plan.arrange.search import HELD, Blocked, Clock, Found, search

FOREVER = Clock(lambda: 60.0)


def sound(desk: Desk, arrangement: Mapping[str, str]) -> bool:
    """Whether the budget engine finds nothing overdrawn."""
    layout = Layout(desk, arrangement)
    held = {*HELD, TIME_BUDGETS["greatest"]}
    return not [e for e in build_ledger(layout.snapshot, layout.setup) if e.state == "over" and e.budget in held]


def every_arrangement(desk: Desk) -> Iterator[dict[str, str]]:
    plugs = list(desk.plugs.values())

    def place(number: int, so_far: dict[str, str]) -> Iterator[dict[str, str]]:
        if number == len(plugs):
            yield dict(so_far)
            return
        plug = plugs[number]
        spots = desk.places.values() if plug.movable else [desk.places[plug.at]]
        for spot in spots:
            if spot.id not in so_far.values() and desk.allows(plug, spot):
                yield from place(number + 1, {**so_far, plug.id: spot.id})

    yield from place(0, {})


def cost(desk: Desk, arrangement: Mapping[str, str]) -> tuple[int, int]:
    """Plugs moved, and how many of them the system will forget."""
    moved = [p for p in desk.plugs.values() if arrangement[p.id] != p.at]
    return len(moved), sum(1 for p in moved if not p.numbered)


@st.composite
def small_desks(draw: st.DrawFn) -> tuple[Snapshot, Setup]:
    parts: list[Any] = []
    supplies: dict[str, float] = {}
    for number in range(1, draw(st.integers(1, 2)) + 1):
        name = f"0000:0{number}:00.0"
        parts += [controller(name), root(number, parent=name, ports=2)]
        parts += [Socket(id=f"{number}-{i}", hub=f"usb{number}", group="feed") for i in (1, 2)]
    fed = draw(st.booleans())
    strip = hub("1-1", translator=draw(st.sampled_from(["single", "multi"])), ports=3, self_powered=fed)
    parts += [strip, *(Socket(id=f"1-1.{i}", hub="1-1") for i in (1, 2, 3))]
    if fed:
        supplies["1-1"] = draw(st.sampled_from([500.0, 1000.0]))
    shapes = ((iso(1023),), (iso(400),), (interrupt(64, 1000), interrupt(64, 1000, 0x02)), ())
    for port in range(1, draw(st.integers(1, 3)) + 1):
        shape = draw(st.sampled_from(shapes))
        serial = draw(st.sampled_from([None, "S"]))
        parts.append(device(f"1-1.{port}", "full", draw(st.sampled_from([50, 100, 400])), *shape, serial=serial))
    if draw(st.booleans()):
        parts.append(device("1-2", "high", 100, iso(1024, 125, transactions=draw(st.integers(1, 3)))))
    return snapshot(*parts), Setup(supplies_ma=supplies, group_ma=draw(st.sampled_from([{}, {"feed": 450.0}])))


@settings(max_examples=60)
@given(small_desks())
def test_agrees_with_trying_every_arrangement(made: tuple[Snapshot, Setup]) -> None:
    desk = survey(*made)
    best = min((cost(desk, a) for a in every_arrangement(desk) if sound(desk, a)), default=None)
    found = search(desk, "greatest", FOREVER)
    if best is None:
        assert isinstance(found, Blocked)
        assert found.names
        return
    assert isinstance(found, Found)
    assert found.proven
    assert sound(desk, found.arrangement)
    assert cost(desk, found.arrangement) == best


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
