"""Trying a change gives the same ledger as looking again after it, and touches nothing else."""

from typing import Any

import pytest
from builders import controller, device, hub, interrupt, iso, root, snapshot
from hypothesis import given
from hypothesis import strategies as st

from wizard.budget.ledger import build_ledger
from wizard.budget.setup import Cable, Setup
from wizard.budget.what_if import Add, Bench, Move, Remove
from wizard.bus.errors import BadInputError
from wizard.bus.model import Snapshot, Socket


def sockets(hub_id: str, prefix: str, ports: int, peer: str | None = None) -> list[Socket]:
    return [
        Socket(id=f"{prefix}{i}", hub=hub_id, peer=f"{peer}{i}" if peer else None, group="rear" if i < 3 else None)
        for i in range(1, ports + 1)
    ]


def desk(*parts: Any) -> Snapshot:
    """Two controllers; the first has USB 3 sockets, the second two of USB 2 alone."""
    return snapshot(
        controller(),
        controller("0000:03:00.0"),
        root(1, ports=4),
        root(2, "super"),
        root(3, parent="0000:03:00.0", ports=2),
        *sockets("usb1", "1-", 4, "2-"),
        *sockets("usb2", "2-", 4, "1-"),
        *sockets("usb3", "3-", 2),
        *parts,
    )


BUSY = (
    hub("1-1"),
    *sockets("1-1", "1-1.", 4),
    device("1-1.1", "full", 100, iso(1023)),
    device("1-1.2", "full", 100, iso(1023)),
)


def used(bench: Bench, budget: str, where: str) -> float | None:
    return next(e.used for e in bench.ledger if (e.budget, e.where) == (budget, where))


def test_moving_a_stream_off_a_shared_translator_relieves_it() -> None:
    before = Bench.of(desk(*BUSY))
    after = before.tried(Move("1-1.2", "3-1"))
    assert used(before, "periodic_time", "1-1/tt") == 2 * 806.166  # row bt-lx-fs-in-iso-1023, twice
    assert used(after, "periodic_time", "1-1/tt") == 806.166
    assert used(after, "periodic_time", "usb3/tt1") == 806.166


def test_a_hub_takes_along_what_hangs_on_it_its_sockets_and_what_was_told_of_it() -> None:
    before = Bench.of(desk(*BUSY), Setup(supplies_ma={"1-1": 2000}, cables={"1-1.2": Cable(m=2)}))
    after = before.tried(Move("1-1", "3-2"))
    assert {d.id for d in after.snapshot.devices if not d.root} == {"3-2", "3-2.1", "3-2.2"}
    assert {s.id for s in after.snapshot.sockets if s.hub == "3-2"} == {f"3-2.{i}" for i in range(1, 5)}
    assert (after.setup.supplies_ma, set(after.setup.cables)) == ({"3-2": 2000}, {"3-2.2"})


def test_a_superspeed_device_falls_back_to_high_speed_in_a_usb_2_socket() -> None:
    after = Bench.of(desk(device("2-1", "super", 896))).tried(Move("2-1", "3-1"))
    moved = after.tree.devices["3-1"]
    assert (moved.speed, moved.mbps) == ("high", 480)


def test_either_half_of_a_usb_3_socket_may_be_named() -> None:
    bench = Bench.of(desk(device("2-1", "super", 896)))
    assert "2-3" in bench.tried(Move("2-1", "1-3")).tree.devices
    assert "1-2" in bench.tried(Add(device("9-9", "full"), "2-2")).tree.devices


def test_both_halves_of_a_usb_3_hub_move_together() -> None:
    parts = (
        hub("1-1"),
        hub("2-1", "super"),
        *sockets("1-1", "1-1.", 4, "2-1."),
        *sockets("2-1", "2-1.", 4, "1-1."),
        device("1-1.1", "full"),
        device("2-1.2", "super"),
    )
    bench = Bench.of(desk(*parts))
    assert {"1-4", "2-4", "1-4.1", "2-4.2"} <= set(bench.tried(Move("2-1", "1-4")).tree.devices)
    slow = bench.tried(Move("1-1", "3-1"))
    assert slow.tree.devices["3-1"].speed == "high"
    assert slow.tree.devices["3-1.2"].speed == "high"


def test_removing_a_hub_removes_what_hangs_on_it() -> None:
    after = Bench.of(desk(*BUSY)).tried(Remove("1-1"))
    assert not [d for d in after.snapshot.devices if not d.root]
    assert not [s for s in after.snapshot.sockets if s.hub == "1-1"]


@pytest.mark.parametrize(
    ("change", "problem"),
    [
        (Move("1-9", "3-1"), "there is no such device"),
        (Remove("usb1"), "there is no such device to unplug"),
        (Move("1-1.1", "7-1"), "there is no such socket"),
        (Move("1-1.1", "1-1.2"), "something is plugged in there"),
        (Add(device("9-9"), "1-1"), "something is plugged in there"),
        (Move("1-1", "1-1.3"), "part of what moves"),
    ],
)
def test_what_can_not_be_done_is_said(change: Any, problem: str) -> None:
    with pytest.raises(BadInputError, match=problem):
        Bench.of(desk(*BUSY)).tried(change)


@st.composite
def desks(draw: st.DrawFn) -> Snapshot:
    parts: list[Any] = []
    for port in range(1, draw(st.integers(1, 3)) + 1):
        powered, double = draw(st.booleans()), draw(st.booleans())
        parts += [
            hub(f"1-{port}", self_powered=powered),
            *sockets(f"1-{port}", f"1-{port}.", 4, f"2-{port}." if double else None),
        ]
        if double:
            parts += [hub(f"2-{port}", "super", self_powered=powered)]
            parts += sockets(f"2-{port}", f"2-{port}.", 4, f"1-{port}.")
            parts += [device(f"2-{port}.4", "super", draw(st.integers(0, 900)))] if draw(st.booleans()) else []
        for child in range(1, draw(st.integers(0, 3)) + 1):
            speed = draw(st.sampled_from(["low", "full", "high"]))
            endpoint = interrupt(draw(st.integers(1, 8)), draw(st.sampled_from([1000, 8000])))
            parts.append(device(f"1-{port}.{child}", speed, draw(st.integers(0, 500)), endpoint))
    return desk(*parts)


@given(desks(), st.data())
def test_a_try_gives_the_ledger_of_a_new_look(seen: Snapshot, data: st.DataObject) -> None:
    bench = Bench.of(seen, Setup(group_ma={"rear": 900}))
    movable = [d.id for d in seen.devices if not d.root]
    target = data.draw(st.sampled_from([s.id for s in seen.sockets]))
    change = data.draw(
        st.sampled_from(
            [*(Move(m, target) for m in movable), *(Remove(m) for m in movable), Add(device("x", "full"), target)]
        )
    )
    try:
        after = bench.tried(change)
    except BadInputError:
        return
    assert set(after.ledger) == set(build_ledger(after.snapshot, after.setup))
    assert after.ledger == build_ledger(after.snapshot, after.setup)


@given(desks(), st.data())
def test_there_and_back_again_changes_nothing(seen: Snapshot, data: st.DataObject) -> None:
    movable = [d.id for d in seen.devices if not d.root and d.hub is None and not d.is_super]
    if movable:
        one = data.draw(st.sampled_from(movable))
        bench = Bench.of(seen)
        assert bench.tried(Move(one, "3-1")).tried(Move("3-1", one)).ledger == bench.ledger


def test_where_one_root_hub_stands_for_both_sides_slow_and_fast_devices_keep_their_speed() -> None:
    """So some systems list them: one root hub, at SuperSpeed, with slower devices on it."""
    both = snapshot(
        controller(),
        root(1, "super", ports=4),
        *sockets("usb1", "1-", 4),
        device("1-1", "full", 100, interrupt(16)),
        device("1-2", "super", 400),
    )
    after = Bench.of(both).tried(Move("1-1", "1-3")).tried(Move("1-2", "1-4"))
    assert {d.id: d.speed for d in after.snapshot.devices if not d.root} == {"1-3": "full", "1-4": "super"}
