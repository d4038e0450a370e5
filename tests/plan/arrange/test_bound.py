"""The bound never promises more than there is to be had, and holds where nothing else is asked for."""

from typing import Any

from builders import controller, device, hub, iso, root, snapshot
from hypothesis import given, settings
from small_desks import FOREVER, best_cost, small_desks

from wizard.budget.setup import Setup
from wizard.bus.model import Snapshot, Socket
from wizard.plan.arrange.bound import least_to_move
from wizard.plan.arrange.clock import Clock
from wizard.plan.arrange.desk import Desk, survey


def desk(*parts: Any, told: Setup | None = None, ports: int = 8) -> Desk:
    sockets = [Socket(id=f"1-{i}", hub="usb1") for i in range(1, ports + 1)]
    return survey(snapshot(controller(), root(ports=ports), *sockets, *parts), told or Setup())


@settings(max_examples=60)
@given(small_desks())
def test_no_arrangement_moves_fewer_plugs_than_the_bound(made: tuple[Snapshot, Setup]) -> None:
    whole = survey(*made)
    best = best_cost(whole)
    bound = least_to_move(whole, "greatest", whole.movable, FOREVER)
    if best is not None:
        assert bound.leaving is not None
        assert (bound.moves, bound.forgets) <= best


def test_streams_that_share_a_translator_leave_until_the_rest_fits() -> None:
    """Three of 806 us each (1023 bytes at full speed, USB 2.0 §5.11.3) in 900 us: two have to go."""
    streams = [device(f"1-1.{i}", "full", 100, iso(1023)) for i in (1, 2, 3)]
    crowded = desk(hub("1-1"), *streams)
    bound = least_to_move(crowded, "greatest", crowded.movable, FOREVER)
    assert (bound.moves, bound.forgets) == (2, 2)


def test_what_the_system_knows_again_leaves_rather() -> None:
    streams = [device("1-1.1", "full", 100, iso(1023)), device("1-1.2", "full", 100, iso(1023), serial="B")]
    crowded = desk(hub("1-1"), *streams)
    bound = least_to_move(crowded, "greatest", crowded.movable, FOREVER)
    assert (bound.moves, bound.forgets, bound.leaving) == (1, 0, ("1-1.2",))


def test_a_hub_that_leaves_takes_its_burden_off_the_bus_but_not_off_its_own_supply() -> None:
    hungry = [device(f"1-1.{i}", "high", 400) for i in (1, 2, 3)]
    told = Setup(supplies_ma={"1-1": 500.0})
    crowded = desk(hub("1-1"), *hungry, told=told)
    bound = least_to_move(crowded, "greatest", crowded.movable, FOREVER)
    assert bound.moves == 2
    assert bound.leaving is not None
    assert "1-1" not in bound.leaving


def test_pinned_plugs_that_are_too_many_have_no_bound() -> None:
    streams = [device(f"1-1.{i}", "full", 100, iso(1023)) for i in (1, 2)]
    crowded = desk(hub("1-1"), *streams, told=Setup(pinned=("1-1.1", "1-1.2")))
    assert least_to_move(crowded, "greatest", crowded.movable, FOREVER).leaving is None


def test_a_pair_to_keep_apart_costs_a_move() -> None:
    side_by_side = desk(device("1-1", "full", 100), device("1-2", "full", 100), told=Setup(apart=(("1-1", "1-2"),)))
    assert least_to_move(side_by_side, "greatest", side_by_side.movable, FOREVER).moves == 1


def test_without_time_nothing_is_promised() -> None:
    streams = [device(f"1-1.{i}", "full", 100, iso(1023)) for i in (1, 2)]
    crowded = desk(hub("1-1"), *streams)
    assert least_to_move(crowded, "greatest", crowded.movable, Clock(lambda: 0.0)).moves == 0
