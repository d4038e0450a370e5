"""Set-ups described by hand: built step by step, nothing changed behind one's back, and marked as assumed."""

import pytest

from wizard.budget.described import Described, Host, HubMade, described
from wizard.budget.entry import Entry
from wizard.budget.kinds import load_kinds
from wizard.budget.ledger import build_ledger
from wizard.budget.setup import Cable, Setup
from wizard.bus.errors import BadInputError
from wizard.store import resources

KINDS = {k.id: k for k in load_kinds(resources.kind_tables())}


def start() -> Described:
    return described([Host(usb2=2, usb3=2)])


def entry(at: Described, budget: str, where: str) -> Entry:
    return next(e for e in build_ledger(at.snapshot, at.setup) if (e.budget, e.where) == (budget, where))


def test_a_host_has_the_sockets_that_were_told_and_both_halves_of_its_usb_3_ones() -> None:
    at = start()
    assert [(s.id, s.peer) for s in at.snapshot.sockets] == [
        ("1-1", "2-1"),
        ("1-2", "2-2"),
        ("1-3", None),
        ("1-4", None),
        ("2-1", "1-1"),
        ("2-2", "1-2"),
    ]
    assert at.free_sockets() == ("1-1", "1-2", "1-3", "1-4")


def test_each_step_gives_a_new_value_and_leaves_the_old_one() -> None:
    empty = start()
    one = empty.with_device("1-1", KINDS["mouse"], "A mouse")
    assert (empty.free_sockets(), one.free_sockets()) == (("1-1", "1-2", "1-3", "1-4"), ("1-2", "1-3", "1-4"))
    assert one.without("1-1") == empty


def test_a_usb_3_hub_has_two_halves_and_shared_sockets() -> None:
    at = start().with_hub("1-1", HubMade(ports=4, usb3=True, supply_ma=3000), "A hub")
    assert {d.id for d in at.snapshot.devices if not d.root} == {"1-1", "2-1"}
    assert at.setup.supplies_ma == {"1-1": 3000, "2-1": 3000}
    full = at.with_device("1-1.1", KINDS["disk"], "A disk").with_device("1-1.2", KINDS["stick"], "A stick")
    assert {d.id for d in full.snapshot.devices if d.parent in ("1-1", "2-1")} == {"2-1.1", "1-1.2"}
    assert full.free_sockets() == ("1-1.3", "1-1.4", "1-2", "1-3", "1-4")


def test_a_usb_3_hub_in_a_usb_2_socket_is_a_usb_2_hub() -> None:
    at = start().with_hub("1-3", HubMade(ports=4, usb3=True), "A hub")
    assert [(d.id, d.speed) for d in at.snapshot.devices if not d.root] == [("1-3", "high")]
    assert {s.peer for s in at.snapshot.sockets if s.hub == "1-3"} == {None}


def test_removing_a_hub_takes_what_hangs_on_it_and_its_sockets_along() -> None:
    at = start().with_hub("1-1", HubMade(ports=4, usb3=True, supply_ma=3000), "A hub")
    at = at.with_device("1-1.1", KINDS["disk"], "A disk")
    assert at.without("1-1") == start()


def test_every_figure_of_a_described_set_up_is_assumed() -> None:
    at = start().with_hub("1-1", HubMade(ports=4), "A hub").with_device("1-1.1", KINDS["stick"], "A stick")
    for found in build_ledger(at.snapshot, at.setup):
        assert found.basis in ("assumed", "unknown"), (found.budget, found.where)


def test_described_streams_meet_in_the_translator_they_share() -> None:
    """A stereo sound interface takes 2 × 294 bytes a frame (derived), twice through one translator."""
    at = start().with_hub("1-3", HubMade(ports=4), "A hub")
    one = at.with_device("1-3.1", KINDS["sound_stereo"], "Sound")
    two = one.with_device("1-3.2", KINDS["sound_stereo"], "Sound")
    assert entry(two, "periodic_time", "1-3/tt").used == 2 * (entry(one, "periodic_time", "1-3/tt").used or 0)
    multi = start().with_hub("1-3", HubMade(ports=4, translator="multi"), "A hub")
    multi = multi.with_device("1-3.1", KINDS["sound_stereo"], "Sound")
    assert entry(multi, "periodic_time", "1-3/tt1").used == entry(one, "periodic_time", "1-3/tt").used


def test_a_cable_that_was_told_stands_in_the_ledger() -> None:
    at = start().with_device("1-3", KINDS["camera_720"], "A camera", Cable(m=7.0, awg=28))
    assert entry(at, "cable", "1-3").state == "over"  # row t-cbl: 5 m at high speed


def test_a_saved_description_goes_on_where_it_was_left() -> None:
    at = start().with_hub("1-1", HubMade(ports=4, supply_ma=0), "A hub")
    again = Described.model_validate_json(at.model_dump_json(by_alias=True))
    assert again == at
    assert again.with_device("1-1.1", KINDS["stick"], "A stick").free_sockets() == (
        "1-1.2", "1-1.3", "1-1.4", "1-2", "1-3", "1-4",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("hosts", "problem"),
    [([Host()], "no sockets"), ([Host(usb3=1, kind="ehci")], "no USB 3 sockets")],
)
def test_a_host_that_cannot_be_is_refused(hosts: list[Host], problem: str) -> None:
    with pytest.raises(BadInputError, match=problem):
        described(hosts)


def test_a_taken_socket_is_refused() -> None:
    with pytest.raises(BadInputError, match="something is plugged in there"):
        start().with_device("1-1", KINDS["mouse"], "A").with_device("2-1", KINDS["mouse"], "B")


def test_what_a_kind_typically_needs_counts_on_the_links_it_crosses_and_a_drive_takes_what_is_left() -> None:
    at = start().with_hub("1-1", HubMade(ports=4, usb3=True), "A hub")
    at = at.with_device("1-1.1", KINDS["camera_fast"], "A camera").with_device("1-1.2", KINDS["ssd"], "A drive")
    found = entry(at, "link_rate", "2-1")
    assert found.used == pytest.approx(KINDS["camera_fast"].need_mb_s, abs=0.001)  # the hub itself reserves a few bytes
    assert found.note is not None
    assert "what their kind typically needs" in found.note
    assert "1 move data as fast as the link lets them" in found.note


def test_a_need_that_was_told_beats_the_typical_one() -> None:
    at = start().with_device("1-1", KINDS["camera_fast"], "A camera").with_device("1-2", KINDS["ssd"], "A drive")
    told = Described(snapshot=at.snapshot, setup=Setup(need_mb_s={"2-1": 124.4, "2-2": 300.0}))
    assert [entry(told, "link_rate", w).used for w in ("2-1", "2-2")] == [124.4, 300.0]


def test_a_display_needs_its_link_outwards() -> None:
    """One way does not weigh on the other: a camera in and a screen out share a link without adding up."""
    at = start().with_hub("1-1", HubMade(ports=4, usb3=True), "A hub")
    at = at.with_device("1-1.1", KINDS["camera_fast"], "A camera").with_device("1-1.2", KINDS["display"], "A screen")
    greater = max(KINDS[k].need_mb_s or 0 for k in ("camera_fast", "display"))
    assert entry(at, "link_rate", "2-1").used == pytest.approx(greater, abs=0.001)
