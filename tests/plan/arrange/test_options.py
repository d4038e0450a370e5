"""Options side by side, what must be bought for them, and moves that two hands can make."""

from typing import Any

import pytest
from builders import controller, device, hub, iso, root, snapshot

from wizard.budget.setup import Cable, Setup
from wizard.bus.model import Hub, Snapshot, Socket
from wizard.case.documents import Look
from wizard.diagnosis.texts import Texts
from wizard.plan.arrange.clock import Clock
from wizard.plan.arrange.moves import MEMORY_BY_CLASS
from wizard.plan.arrange.options import arrange
from wizard.plan.cautions import OPEN_CASE
from wizard.plan.steps import Plan
from wizard.report.arrange_part import options_section
from wizard.report.blocks import Listing, Para, Part

FOREVER = Clock(lambda: 60.0)
STREAMS = (
    hub("1-1"),
    *(Socket(id=f"1-1.{i}", hub="1-1") for i in range(1, 5)),
    device("1-1.1", "full", 100, iso(1023), serial="A"),
    device("1-1.2", "full", 100, iso(1023)),
)


APART = Setup(apart=(("1-1", "1-2"),))

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


def test_a_supply_that_is_too_small_is_asked_for_by_what_the_devices_draw() -> None:
    """Four of 500 mA on 1,500 mA and nowhere else to go: 2 A and a quarter to spare are 2.5 A."""
    hungry = [device(f"1-1.{i}", "high", 500) for i in (1, 2, 3, 4)]
    found = arrange(pc(1, hub("1-1"), *hungry), Setup(supplies_ma={"1-1": 1500.0}), FOREVER)
    assert found.clash
    first = found.options[0]
    assert (first.kind, first.moves, [a.kind for a in first.adds]) == ("purchase", (), ["supply"])
    assert (first.adds[0].at, first.adds[0].supply_ma, first.adds[0].spend) == ("1-1", 2500, "low")
    assert not [e for e in first.after if e.state == "over"]


def test_a_run_that_is_too_long_asks_for_one_as_long_as_its_speed_allows() -> None:
    """5 m at high speed: 26 ns at 5.2 ns/m, USB 2.0 §7.1.19 as cited in the USB-IF white paper of 2015."""
    found = arrange(pc(1, device("1-1", "high", 500)), Setup(cables={"1-1": Cable(m=8.0)}), FOREVER)
    (only,) = found.options
    assert (only.kind, only.moves) == ("purchase", ())
    assert [(a.kind, a.at, a.cable_m) for a in only.adds] == [("cable", "1-1", 5.0)]
    assert not [e for e in only.after if e.state == "over"]


def test_thin_wires_that_lose_too_much_ask_for_thicker_ones_of_the_same_length() -> None:
    told = Setup(cables={"1-1": Cable(m=3.0, awg=28)})
    (only,) = arrange(pc(1, device("1-1", "high", 500)), told, FOREVER).options
    (cable,) = only.adds
    assert cable.cable_m == 3.0
    assert cable.gauge is not None
    assert cable.gauge < 28
    assert not [e for e in only.after if e.budget == "voltage" and e.state == "over"]


def test_a_receiver_beside_what_disturbs_it_is_moved_or_gets_an_extension() -> None:
    side_by_side = (device("1-1", "full", 100), device("1-2", "high", 100))
    elsewhere = arrange(pc(2, *side_by_side, hub("1-3"), Socket(id="1-3.1", hub="1-3")), APART, FOREVER)
    assert [(o.kind, len(o.moves)) for o in elsewhere.options] == [("free", 1)]
    nowhere = arrange(pc(2, *side_by_side), APART, FOREVER)
    first = nowhere.options[0]
    assert (first.kind, first.moves) == ("purchase", ())
    assert [(a.kind, a.at) for a in first.adds] == [("extension", "1-1")]


def test_the_cautions_of_an_opened_case_stand_before_the_moves_of_a_card(prose: Texts) -> None:
    """In every form of the report, since all are made of these blocks."""
    many = [device(f"1-{i}", "full", 100, iso(100)) for i in range(1, 5)]
    snap = pc(4, *many)
    found = arrange(snap, Setup(endpoint_limit={"0000:00:14.0": 6}), FOREVER)
    section = options_section(Plan(options=found.options), Look(snapshot=snap), prose)
    assert section is not None
    part = next(b for b in section.blocks if isinstance(b, Part))
    said = [b.text for b in part.blocks if isinstance(b, Para) and b.tone == "warning"]
    assert [prose[f"caution.{c}.text"] for c in OPEN_CASE if prose[f"caution.{c}.text"] not in said] == []
    first_move = next(i for i, b in enumerate(part.blocks) if isinstance(b, Listing))
    last_warning = max(i for i, b in enumerate(part.blocks) if isinstance(b, Para) and b.tone == "warning")
    assert last_warning < first_move


def test_a_search_that_is_called_off_says_so() -> None:
    found = arrange(pc(2, *STREAMS), Setup(), Clock(lambda: 60.0, stop=lambda: True))
    assert found.options == ()
    assert found.unfinished


def test_a_desk_that_can_not_be_is_not_searched() -> None:
    """Forty hubs in series: the standard allows five (USB 2.0 §4.1.1)."""
    chain = [hub("1-1" + ".1" * i) for i in range(40)]
    found = arrange(pc(1, *chain), Setup(), FOREVER)
    assert (found.options, found.unfinished) == ((), True)


@pytest.mark.parametrize("memory", [*MEMORY_BY_CLASS.values(), "other"])
def test_what_a_system_may_forget_can_be_noted_before_and_mended_after(memory: str, prose: Texts) -> None:
    for part in ("before", "after"):
        assert prose[f"arrange.memory.{memory}.{part}"].strip()
    assert prose[f"arrange.memory.{memory}.before_windows"].strip()


def test_a_hub_that_moves_takes_along_what_the_system_forgets() -> None:
    """Two hubs of cameras on one bus (5 × 24 us in 100 us, USB 2.0 §5.11.3): one hub goes to the other controller."""
    parts = [hub("1-1"), hub("1-2")]
    for strip in ("1-1", "1-2"):
        parts += [device(f"{strip}.{i}", "high", 100, iso(1024, 125)) for i in (1, 2, 3)]
    for number in (1, 2):
        name = f"0000:0{number}:00.0"
        parts += [controller(name), root(number, parent=name, ports=2)]
        parts += [Socket(id=f"{number}-{i}", hub=f"usb{number}") for i in (1, 2)]
    cameras = tuple(f"1-{n}.{i}" for n in (1, 2) for i in (1, 2, 3))
    option = arrange(snapshot(*parts), Setup(pinned=cameras), FOREVER).options[0]
    (move,) = option.moves
    assert move.device in ("1-1", "1-2")
    assert (move.forgets, move.memories) == (True, ("other",))


def list_of_devices() -> Snapshot:
    """The streams on a PC of which only the taken sockets are listed, as a list of devices tells it."""
    bare = root().model_copy(update={"hub": Hub(translator="none")})
    taken = [Socket(id=i, hub="usb1" if "." not in i else "1-1") for i in ("1-1", "1-1.1", "1-1.2")]
    streams = [device(f"1-1.{i}", "full", 100, iso(1023)) for i in (1, 2)]
    return snapshot(controller(), bare, hub("1-1", ports=None), *taken, *streams)


def test_where_a_look_does_not_tell_which_sockets_are_free_nothing_is_claimed_to_be_proven() -> None:
    found = arrange(list_of_devices(), Setup(), FOREVER)
    assert found.unlisted == ("1-1", "usb1")
    assert found.clash == ()
    assert not [o for o in found.options if o.proven_best]
