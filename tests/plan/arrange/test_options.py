"""Options side by side, what must be bought for them, and moves that two hands can make."""

from typing import Any

from builders import controller, device, hub, iso, root, snapshot

from wizard.budget.setup import Setup
from wizard.bus.model import Snapshot, Socket
from wizard.plan.arrange.clock import Clock
from wizard.plan.arrange.options import arrange

FOREVER = Clock(lambda: 60.0)
STREAMS = (
    hub("1-1"),
    *(Socket(id=f"1-1.{i}", hub="1-1") for i in range(1, 5)),
    device("1-1.1", "full", 100, iso(1023), serial="A"),
    device("1-1.2", "full", 100, iso(1023)),
)


FULL = (*STREAMS, device("1-2", "full", 100, iso(1023), serial="C"))
"""The same on a PC whose second and last socket is taken."""


def pc(ports: int, *parts: Any) -> Snapshot:
    sockets = [Socket(id=f"1-{i}", hub="usb1") for i in range(1, ports + 1)]
    return snapshot(controller(), root(ports=ports), *sockets, *parts)


def test_nothing_overdrawn_needs_no_option() -> None:
    assert arrange(pc(2, device("1-1", "high", 500)), Setup(), FOREVER).options == ()


def test_where_a_free_way_exists_nothing_is_to_be_bought() -> None:
    found = arrange(pc(2, *STREAMS), Setup(), FOREVER)
    assert [o.kind for o in found.options] == ["free"]
    assert found.options[0].adds == ()
    assert not [e for e in found.options[0].after if e.state == "over"]


def test_without_a_free_socket_a_hub_with_a_translator_for_each_socket_is_asked_for() -> None:
    found = arrange(pc(2, *FULL), Setup(), FOREVER)
    assert found.clash
    first = found.options[0]
    assert (first.kind, first.opens_case) == ("purchase", False)
    helper = first.adds[0]
    assert (helper.kind, helper.translator) == ("hub_usb2", "multi")
    # Into a socket left free on the old hub: so only one plug has to move.
    assert helper.at in ("1-1.3", "1-1.4")
    assert len([m for m in first.moves if m.from_ is not None]) == 1
    assert helper.supply_ma is not None
    assert helper.supply_ma >= 500
    assert [m.from_ for m in first.moves if m.device == helper.id] == [None]


def test_a_hub_is_plugged_in_before_anything_goes_onto_it() -> None:
    moves = arrange(pc(2, *FULL), Setup(), FOREVER).options[0].moves
    placed = [m.device for m in moves if m.to is not None]
    for move in moves:
        if move.to is not None and move.to.startswith("900-1."):
            assert placed.index("900-1") < placed.index(move.device)


def test_no_move_goes_into_a_taken_socket() -> None:
    snap = pc(2, *FULL)
    for option in arrange(snap, Setup(), FOREVER).options:
        at = {d.id: d.id for d in snap.devices if not d.root}
        for move in option.moves:
            assert move.to is None or move.to not in [place for plug, place in at.items() if plug != move.device]
            at[move.device] = move.to or "in the hand"


def test_a_plug_without_serial_number_is_said_to_be_forgotten() -> None:
    found = arrange(pc(2, *STREAMS), Setup(pinned=("1-1.1",)), FOREVER)
    assert [(m.device, m.forgets) for m in found.options[0].moves] == [("1-1.2", True)]


def test_a_card_is_the_way_where_the_controller_itself_is_full() -> None:
    many = [device(f"1-{i}", "full", 100, iso(100)) for i in range(1, 5)]
    found = arrange(pc(4, *many), Setup(endpoint_limit={"0000:00:14.0": 6}), FOREVER)
    assert [(o.kind, o.opens_case) for o in found.options] == [("opens_case", True)]
    assert found.options[0].adds[0].own_controller
    assert found.clash == ("endpoints@0000:00:14.0",)


def test_a_search_that_is_called_off_says_so() -> None:
    found = arrange(pc(2, *STREAMS), Setup(), Clock(lambda: 60.0, stop=lambda: True))
    assert found.options == ()
    assert found.unfinished


def test_a_desk_that_can_not_be_is_not_searched() -> None:
    """Forty hubs in series: the standard allows five (USB 2.0 §4.1.1)."""
    chain = [hub("1-1" + ".1" * i) for i in range(40)]
    found = arrange(pc(1, *chain), Setup(), FOREVER)
    assert (found.options, found.unfinished) == ((), True)
