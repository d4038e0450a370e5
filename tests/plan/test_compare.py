"""Two looks side by side."""

from typing import get_args

import pytest
from builders import controller, device, hub, iso, root, snapshot
from hypothesis import given
from hypothesis import strategies as st

from wizard.budget.entry import Entry, Part, State
from wizard.budget.ledger import build_ledger
from wizard.bus.model import MBPS, Pci, Snapshot, Speed, System
from wizard.bus.sign import Sign
from wizard.plan.compare import Comparison, compare_looks, label


def entry(
    where: str, used: float | None, state: State, limit: float | None = 900, budget: str = "periodic_time"
) -> Entry:
    return Entry(
        budget=budget,
        where=where,
        used=used,
        limit=limit,
        unit="us/frame",
        state=state,
        basis="declared",
        limit_basis="declared",
        source="USB 2.0 §5.11.3",
    )


def budgets(*sides: tuple[Entry, ...]) -> list[tuple[str, State | None, State | None]]:
    made = compare_looks(Snapshot(), Snapshot(), *sides)
    return [(b.where, b.state_was, b.state_now) for b in made.budgets]


def test_a_moved_device_relieves_one_place_and_both_are_listed() -> None:
    sound = {"vid": "1209", "pid": "0001"}
    before = snapshot(
        controller(),
        root(),
        hub("1-4"),
        device("1-4.1", "full", 100, iso(960), **sound, serial="A"),
        device("1-4.2", "full", 100, iso(400), **sound, serial="B"),
    )
    after = snapshot(
        controller(),
        root(),
        hub("1-4"),
        device("1-2", "full", 100, iso(960), **sound, serial="A"),
        device("1-4.2", "full", 100, iso(400), **sound, serial="B"),
    )
    made = compare_looks(before, after, build_ledger(before), build_ledger(after))
    assert [(m.was, m.now) for m in made.moved] == [("1-4.1", "1-2")]
    assert made.gone == made.new == made.faster == made.slower == ()
    assert ("periodic_time", "1-4/tt") in [(b.budget, b.where) for b in made.relieved]
    places = {b.where: (b.used_was, b.used_now) for b in made.budgets if b.budget == "periodic_time"}
    assert places["usb1/tt2"][0] is None
    assert places["usb1/tt2"][1] is not None


def test_rates_tell_faster_and_slower_also_by_the_name_of_the_speed() -> None:
    ids = {"vid": "1209", "pid": "0001", "serial": "A"}
    slow = snapshot(device("1-1", "high", **ids))
    fast = snapshot(device("2-1", "super", **ids).model_copy(update={"mbps": None}))
    made = compare_looks(slow, fast)
    assert [(f.mbps_was, f.mbps_now) for f in made.faster] == [(MBPS["high"], MBPS["super"])]
    assert [m.now for m in made.moved] == ["2-1"]
    assert compare_looks(fast, slow).slower[0].mbps_now == MBPS["high"]


def test_an_unknown_rate_is_neither_faster_nor_slower() -> None:
    known = device("1-1", "high", vid="1209", pid="0001")
    unknown = known.model_copy(update={"speed": None, "mbps": None})
    made = compare_looks(snapshot(unknown), snapshot(known))
    assert made.faster == made.slower == ()


@pytest.mark.parametrize(
    ("was", "now", "listed"),
    [
        (entry("usb1", 100, "room"), entry("usb1", 100, "room"), False),
        (entry("usb1", 100, "room"), entry("usb1", 90, "room"), True),
        (entry("usb1", 950, "over"), entry("usb1", 950, "over"), True),
        (entry("usb1", 800, "tight"), entry("usb1", 800, "tight"), True),
        (entry("usb1", 100, "room"), entry("usb1", 100, "room", limit=800), True),
        (entry("usb1", None, "unknown"), entry("usb1", None, "unknown"), False),
    ],
)
def test_budgets_in_trouble_or_changed_are_listed(was: Entry, now: Entry, listed: bool) -> None:
    assert bool(budgets((was,), (now,))) is listed


def test_a_budget_missing_on_one_side_is_not_taken_for_zero() -> None:
    made = compare_looks(Snapshot(), Snapshot(), (), (entry("usb1", 950, "over"),))
    assert [(b.used_was, b.limit_was, b.state_was, b.used_now) for b in made.budgets] == [(None, None, None, 950)]
    assert made.overdrawn_now == made.budgets
    assert made.relieved == ()


def test_budgets_stand_in_natural_order_of_places() -> None:
    sides = tuple(entry(where, 950, "over") for where in ("1-10", "1-2", "usb1"))
    assert [where for where, _, _ in budgets(sides, sides)] == ["1-2", "1-10", "usb1"]


def test_signs_count_as_new_when_not_seen_before_or_seen_more_often() -> None:
    before = (Sign(kind="reset", where="1-1", count=3), Sign(kind="disconnect", where="1-1"))
    after = (
        Sign(kind="reset", where="1-1", count=3),
        Sign(kind="disconnect", where="1-1", count=2),
        Sign(kind="reset", where="1-2"),
    )
    made = compare_looks(Snapshot(), Snapshot(), signs_before=before, signs_after=after)
    assert [(s.kind, s.where, s.count) for s in made.new_signs] == [("disconnect", "1-1", 2), ("reset", "1-2", 1)]


def test_a_device_is_called_by_what_is_known_of_it() -> None:
    bare = device("1-1", vid="1209", pid="0001")
    assert label(bare) == "1209:0001"
    assert label(bare.model_copy(update={"product": "Dome"})) == "Dome"
    assert label(bare.model_copy(update={"product": "Dome", "name": "Dome motor"})) == "Dome motor"
    assert label(device("1-1")) == "1-1"


def test_each_side_of_a_budget_keeps_its_name_and_its_range() -> None:
    """Another hub stands at the place now; what its limit may be is known as a range only."""
    limits = {"vid": "1209", "serial": "A"}
    before = snapshot(controller(), root(), hub("1-1", name="Old hub", pid="0001", **limits))
    after = snapshot(controller(), root(), hub("1-1", name="New hub", pid="0002", **limits))
    was = entry("1-1", 3, "room", None, "endpoints").model_copy(update={"bracket": (64, 254)})
    made = compare_looks(before, after, (was,), (entry("1-1", 4, "room", 96, "endpoints"),)).budgets[0]
    assert (made.name_was, made.bracket_was, made.limit_was) == ("Old hub", (64, 254), None)
    assert (made.name_now, made.bracket_now, made.limit_now) == ("New hub", None, 96)
    gone = compare_looks(before, snapshot(controller(), root()), (was,)).budgets[0]
    assert (gone.name_was, gone.name_now) == ("Old hub", None)


def test_who_used_a_budget_and_is_missing_is_named_but_an_exchanged_hub_is_not() -> None:
    before = snapshot(controller(), root(), hub("1-1", vid="1209", pid="1"), device("1-1.1", name="Camera"))
    parts = tuple(Part(who=who, used=300) for who in ("1-1", "1-1.1", "1-1.1"))
    over = entry("1-1", 900, "over", 500, "hub_supply").model_copy(update={"parts": parts})
    made = compare_looks(before, snapshot(controller(), root()), (over,))
    assert made.budgets[0].users_gone == ("Camera",)
    assert compare_looks(before, before, (over,), (over,)).budgets[0].users_gone == ()


BOARD = System(board_maker="Some maker", board_model="B1")


@pytest.mark.parametrize(
    ("other", "two"),
    [
        (snapshot(controller(), system=BOARD), False),
        (snapshot(controller(), controller("0000:02:00.0"), system=BOARD), False),
        (snapshot(controller("0000:02:00.0"), system=BOARD), True),
        (snapshot(controller(), system=BOARD.model_copy(update={"board_model": "B2"})), True),
        (snapshot(controller(), system=System()), False),
        (snapshot(controller(pci=Pci(vendor="1b21", device="1142"))), True),
        (Snapshot(), False),
    ],
)
def test_two_computers_are_told_apart_by_controllers_and_board(other: Snapshot, two: bool) -> None:
    one = snapshot(controller(pci=Pci(vendor="8086", device="a36d")), system=BOARD)
    for made in (compare_looks(one, other), compare_looks(other, one)):
        assert made.two_machines is two
        assert any("two different computers" in note for note in made.notes) is two


SPEEDS: tuple[Speed, ...] = get_args(Speed)
DEVICES = st.builds(
    lambda place, speed, serial, pid: device(place, speed, vid="1209", pid=pid, serial=serial),
    st.sampled_from(["1-1", "1-2", "1-3", "1-4.1"]),
    st.sampled_from(SPEEDS),
    st.sampled_from([None, "A", "B"]),
    st.sampled_from(["0001", "0002"]),
)
LOOKS = st.lists(DEVICES, max_size=4, unique_by=lambda d: d.id).map(lambda devices: snapshot(*devices))
LEDGERS = st.lists(
    st.builds(
        entry,
        st.sampled_from(["usb1", "usb1/tt2", "1-4/tt"]),
        st.floats(0, 2000),
        st.sampled_from(get_args(State)),
        budget=st.sampled_from(["periodic_time", "port_current"]),
    ),
    max_size=6,
    unique_by=lambda e: (e.budget, e.where),
).map(tuple)
SIGNS = st.lists(
    st.builds(Sign, kind=st.sampled_from(["reset", "connect"]), where=st.just("1-1"), count=st.integers(1, 5)),
    max_size=2,
    unique_by=lambda s: s.kind,
).map(tuple)


@given(LOOKS, LEDGERS, SIGNS)
def test_a_look_beside_itself_shows_no_change(
    look: Snapshot, ledger: tuple[Entry, ...], signs: tuple[Sign, ...]
) -> None:
    made = compare_looks(look, look, ledger, ledger, signs, signs)
    assert made.gone == made.new == made.moved == made.faster == made.slower == made.new_signs == ()
    assert made.relieved == ()
    for budget in made.budgets:
        assert (budget.used_was, budget.limit_was, budget.state_was) == (
            budget.used_now,
            budget.limit_now,
            budget.state_now,
        )
        assert budget.state_now in ("over", "tight")


def turned(made: Comparison) -> tuple[set[str], ...]:
    return (
        {d.was or "" for d in made.gone},
        {d.now or "" for d in made.new},
        {f"{d.was}>{d.now}" for d in made.moved},
        {f"{d.was}>{d.now}" for d in made.faster},
        {f"{d.was}>{d.now}" for d in made.slower},
    )


def backwards(pairs: set[str]) -> set[str]:
    return {">".join(reversed(p.split(">"))) for p in pairs}


@given(LOOKS, LOOKS, LEDGERS, LEDGERS)
def test_swapping_the_looks_swaps_gone_and_new_faster_and_slower(
    before: Snapshot, after: Snapshot, ledger_before: tuple[Entry, ...], ledger_after: tuple[Entry, ...]
) -> None:
    gone, new, moved, faster, slower = turned(compare_looks(before, after, ledger_before, ledger_after))
    back = compare_looks(after, before, ledger_after, ledger_before)
    assert turned(back) == (new, gone, backwards(moved), backwards(slower), backwards(faster))
    forth = compare_looks(before, after, ledger_before, ledger_after)
    seen = {(b.budget, b.where, b.used_was, b.used_now) for b in forth.budgets if "over" in (b.state_was, b.state_now)}
    assert seen == {
        (b.budget, b.where, b.used_now, b.used_was) for b in back.budgets if "over" in (b.state_was, b.state_now)
    }
