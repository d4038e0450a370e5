"""The schedule against an independent exhaustive search, and its promises as properties."""

from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wizard.budget.schedule import Load, power_of_two, schedule

PERIODS = st.sampled_from([1, 2, 4, 8])


def load(number: int, period: int, ns: int) -> Load:
    return Load(f"1-{number}", 0x81, period, (ns,))


loads = st.lists(st.tuples(PERIODS, st.integers(1, 900_000)), max_size=12).map(
    lambda rows: [load(i, period, ns) for i, (period, ns) in enumerate(rows)]
)


def best_possible(items: list[Load]) -> int:
    """Worst slot of the best of all phase choices, by trying them all."""
    span = max((i.period for i in items), default=1)
    best = None
    for phases in product(*(range(i.period) for i in items)):
        table = [0] * span
        for item, phase in zip(items, phases, strict=True):
            for slot in range(phase, span, item.period):
                table[slot] += sum(item.pieces)
        best = max(table) if best is None else min(best, max(table))
    return best or 0


@given(loads)
def test_order_changes_nothing(items: list[Load]) -> None:
    there, back = schedule(items), schedule(items[::-1])
    assert (there.worst_ns, there.in_worst_ns) == (back.worst_ns, back.in_worst_ns[::-1])


@given(loads)
def test_parts_sum_to_the_worst_slot(items: list[Load]) -> None:
    plan = schedule(items)
    assert sum(plan.in_worst_ns) == plan.worst_ns


@given(loads)
def test_worst_slot_lies_between_mean_and_total(items: list[Load]) -> None:
    worst = schedule(items).worst_ns
    assert sum(sum(i.pieces) / i.period for i in items) <= worst + 1e-6
    assert worst <= sum(sum(i.pieces) for i in items)


@given(loads, st.integers(2, 50))
def test_work_that_takes_so_many_times_as_long_makes_the_worst_slot_so_many_times_as_full(
    items: list[Load], times: int
) -> None:
    longer = [Load(i.who, i.endpoint, i.period, tuple(ns * times for ns in i.pieces)) for i in items]
    assert schedule(longer).worst_ns == times * schedule(items).worst_ns


@given(st.lists(st.tuples(st.sampled_from([1, 2, 4]), st.integers(1, 1000)), max_size=5))
def test_never_beats_and_never_far_exceeds_the_best_arrangement(rows: list[tuple[int, int]]) -> None:
    items = [load(i, period, ns) for i, (period, ns) in enumerate(rows)]
    best = best_possible(items)
    worst = schedule(items).worst_ns
    # R. L. Graham 1966: a load goes where the table is lowest, at most its mean; so at most the best plus the load.
    assert best <= worst <= 2 * best


def test_two_equal_loads_of_period_two_do_not_meet() -> None:
    assert schedule([load(1, 2, 500), load(2, 2, 500)]).worst_ns == 500


def test_a_load_of_every_slot_meets_everything() -> None:
    plan = schedule([load(1, 1, 100), load(2, 8, 700)])
    assert plan.worst_ns == 800


def test_pieces_of_one_service_spread_over_its_slots() -> None:
    split = Load("1-1", 0x81, 8, (100, 300, 300))
    assert schedule([split]).worst_ns == 300


@given(st.lists(st.tuples(PERIODS, st.lists(st.integers(1, 30_000), min_size=1, max_size=4)), max_size=10), st.data())
def test_less_work_never_makes_the_worst_slot_worse(rows: list[tuple[int, list[int]]], data: st.DataObject) -> None:
    items = [Load(f"1-{i}", 0x81, period, tuple(pieces)) for i, (period, pieces) in enumerate(rows)]
    if items:
        gone = data.draw(st.sampled_from(items))
        assert schedule([i for i in items if i != gone]).worst_ns <= schedule(items).worst_ns


@pytest.mark.parametrize(
    ("number", "most", "expected"), [(1, 32, 1), (10, 32, 8), (255, 32, 32), (0, 32, 1), (3, 8, 2)]
)
def test_hosts_round_periods_down_to_a_power_of_two(number: int, most: int, expected: int) -> None:
    assert power_of_two(number, most) == expected


def test_a_period_that_is_no_power_of_two_is_refused() -> None:
    with pytest.raises(ValueError, match="power of two"):
        schedule([Load("1-1", 0x81, 3, (1,))])
